"""The file of a backup: a zip archive whose last member says what has to be in it.

`manifest.json` names every file with its length and its SHA-256 sum, the version of the tables
and of this layout. Any zip program opens it. A member that the manifest does not name, a name
that would lead out of a folder, and one wrong byte are refused.
"""

from __future__ import annotations

import hashlib
import os
import zipfile
import zlib
from pathlib import PurePosixPath
from typing import IO, TYPE_CHECKING

import msgspec

from strikebridge.errors import SafekeepingError
from strikebridge.private_files import open_private, private_folder
from strikebridge.safekeeping.job import Doing

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from strikebridge.safekeeping.job import Progress

VERSION = 1
MANIFEST = "manifest.json"
BLOCK_BYTES = 2**20
LEVEL = 1  # recordings shrink to a fifth; higher levels take minutes for a few percent more
_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError)


class Entry(msgspec.Struct, frozen=True):
    """One file of a backup.

    Attributes:
        name: its path in the data folder, with forward slashes.
        bytes: its length.
        sha256: its sum, hexadecimal.
        changed_ns: when it was last written, nanoseconds since 1970.
    """

    name: str
    bytes: int
    sha256: str
    changed_ns: int


class Manifest(msgspec.Struct, frozen=True, kw_only=True):
    """What a backup holds.

    Attributes:
        strikebridge_backup: version of the layout.
        made_at: when, RFC 3339 with offset.
        program: version of the program that made it.
        tables: version of the database's tables, 0 where there was no database.
        files: every file.
    """

    strikebridge_backup: int = VERSION
    made_at: str
    program: str
    tables: int
    files: tuple[Entry, ...]


class ArchiveWriter:
    """Put files into a new archive, one after the other."""

    def __init__(self, file: IO[bytes], progress: Progress) -> None:
        """Begin.

        Args:
            file: opened for reading and writing; it stays open.
            progress: told of every block.
        """
        self._zip = zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=LEVEL)
        self._progress = progress
        self._entries: list[Entry] = []

    def put(self, name: str, path: Path) -> None:
        """Put a file in; one of lines only up to its last whole line, for it may be growing.

        Args:
            name: its path in the data folder.
            path: where it is.

        Raises:
            OSError: it cannot be read, or the archive cannot be written.
        """
        total, sha = 0, hashlib.sha256()
        self._progress.begin(Doing.COPYING, name)
        with path.open("rb") as file, self._zip.open(name, "w", force_zip64=True) as member:
            changed_ns = os.fstat(file.fileno()).st_mtime_ns
            for block in _whole_lines(file) if name.endswith(".jsonl") else _blocks(file):
                member.write(block)
                sha.update(block)
                total += len(block)
                self._progress.add(len(block))
        self._entries.append(Entry(name, total, sha.hexdigest(), changed_ns))

    def finish(self, made_at: str, program: str, tables: int) -> Manifest:
        """Write the manifest and the archive's own table.

        Args:
            made_at: when, RFC 3339 with offset.
            program: version of the program.
            tables: version of the database's tables.

        Raises:
            OSError: the archive cannot be written.
        """
        manifest = Manifest(
            made_at=made_at, program=program, tables=tables, files=tuple(self._entries)
        )
        self._zip.writestr(MANIFEST, msgspec.json.format(msgspec.json.encode(manifest)))
        self._zip.close()
        return manifest

    def close(self) -> None:
        """Let go of the file, finished or not.

        Raises:
            OSError: the archive cannot be written.
        """
        self._zip.close()


def _blocks(file: IO[bytes]) -> Iterator[bytes]:
    while block := file.read(BLOCK_BYTES):
        yield block


def _whole_lines(file: IO[bytes]) -> Iterator[bytes]:
    """Read as much as is there now, up to the last line feed."""
    left = os.fstat(file.fileno()).st_size
    held = b""
    while left > 0 and (block := file.read(min(BLOCK_BYTES, left))):
        left -= len(block)
        whole, feed, rest = block.rpartition(b"\n")
        if feed:
            yield held + whole + feed
            held = rest
        else:
            held += rest


class ArchiveReader:
    """Read an archive, believing nothing.

    Attributes:
        manifest: what it says of itself.
    """

    def __init__(self, path: Path) -> None:
        """Open an archive and read its manifest.

        Args:
            path: the file.

        Raises:
            SafekeepingError: it cannot be read, is no backup, or is of a newer program.
        """
        self.path = path
        try:
            self._zip = zipfile.ZipFile(path)
        except OSError as error:
            raise SafekeepingError(f"{path} cannot be read ({error.strerror}).") from error
        except _BROKEN as error:
            raise self._damaged("it is cut short, or no backup at all") from error
        try:
            self.manifest = self._read_manifest()
        except BaseException:
            self._zip.close()
            raise

    def _read_manifest(self) -> Manifest:
        try:
            raw = self._zip.read(MANIFEST)
            manifest = msgspec.json.decode(raw, type=Manifest)
        except KeyError as error:
            raise self._damaged("it is no backup of strikebridge") from error
        except (*_BROKEN, OSError, msgspec.MsgspecError) as error:
            raise self._damaged("its list of contents cannot be read") from error
        if manifest.strikebridge_backup > VERSION:
            raise SafekeepingError(
                f"{self.path} was made by a newer strikebridge ({manifest.program}). Nothing "
                "was changed. Install the newer strikebridge and try again."
            )
        named = [entry.name for entry in manifest.files]
        if sorted([*named, MANIFEST]) != sorted(self._zip.namelist()):
            raise self._damaged("it does not hold the files that it names")
        if not all(_stays_inside(name) for name in named):
            raise self._damaged("it names a place outside of the data folder")
        return manifest

    def close(self) -> None:
        """Let go of the file."""
        self._zip.close()

    def unpack(self, into: Path, progress: Progress) -> None:
        """Write every file, checked, into a folder that has none of them.

        Args:
            into: the folder; it is made if need be.
            progress: told of every block.

        Raises:
            SafekeepingError: a file of the archive is damaged.
            OSError: a file cannot be written.
        """
        for entry in self.manifest.files:
            progress.begin(Doing.UNPACKING, entry.name)
            path = into / entry.name
            private_folder(path.parent)
            with open_private(path, "xb") as file:
                for block in self._checked(entry):
                    file.write(block)
                    progress.add(len(block))
                file.flush()
                os.fsync(file.fileno())
            os.utime(path, ns=(entry.changed_ns, entry.changed_ns))

    def check(self, progress: Progress) -> None:
        """Read every file and hold it against its sum.

        Args:
            progress: told of every block.

        Raises:
            SafekeepingError: one is damaged.
        """
        for entry in self.manifest.files:
            progress.begin(Doing.READING_BACK, entry.name)
            for block in self._checked(entry):
                progress.add(len(block))

    def _checked(self, entry: Entry) -> Iterator[bytes]:
        sha = hashlib.sha256()
        try:
            with self._zip.open(entry.name) as member:
                for block in _blocks(member):
                    sha.update(block)
                    yield block
        except _BROKEN as error:
            raise self._damaged(f"{entry.name} cannot be read back") from error
        if sha.hexdigest() != entry.sha256:
            raise self._damaged(f"{entry.name} is not what was put in")

    def _damaged(self, why: str) -> SafekeepingError:
        return SafekeepingError(
            f"{self.path} is damaged: {why}. Nothing was changed. Take another backup."
        )


def _stays_inside(name: str) -> bool:
    path = PurePosixPath(name)
    is_plain = path.as_posix() == name and "\\" not in name and ":" not in name
    return is_plain and not path.is_absolute() and ".." not in path.parts
