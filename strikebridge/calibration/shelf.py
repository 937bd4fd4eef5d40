"""The shelf of certificates: every calibration that was ever made, in one folder of files.

A certificate is put there once and never changed, never replaced and never cleared away: old
ones stay valid for old recordings. Its file is named by board, date and id, so that a person
finds it too. Which one is a board's newest is read from the certificates, not from the names.

A board is known by what it calls itself (the first word of `Certificate.board`; its firmware
may be renewed meanwhile). A board that says nothing of itself is known by where it is plugged
in. Two boards that call themselves the same cannot be told apart here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from strikebridge.calibration.certificate_file import load_certificate, save_certificate
from strikebridge.errors import CalibrationError
from strikebridge.private_files import private_folder

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.samples import Identity

FOLDER = "certificates"
"""Name of the folder within the data folder."""
LONGEST_NAME = 40
_OPTIONS = re.compile(r"\?[^?]*$")
_NO_NAME = re.compile(r"[^a-z0-9.]+")


@dataclass(frozen=True, slots=True)
class Shelved:
    """A certificate and where it stands.

    Attributes:
        path: its file.
        certificate: what is in it.
    """

    path: Path
    certificate: Certificate


class Shelf:
    """Keep certificates in a folder, and find them again.

    Attributes:
        folder: the folder; it need not exist as long as nothing was put there.
        damaged: sentences on files that the last look could not use.
    """

    def __init__(self, data: Path) -> None:
        """Name the shelf; nothing is read yet.

        Args:
            data: the data folder.
        """
        self.folder = data / FOLDER
        self.damaged: list[str] = []

    def put(self, certificate: Certificate) -> Path:
        """Put a certificate on the shelf; one that is there already stays as it is.

        Args:
            certificate: the certificate.

        Returns:
            Its file.

        Raises:
            CalibrationError: its figures are impossible, or the disk refuses.
        """
        try:
            private_folder(self.folder)
        except OSError as error:
            msg = (
                f"The folder {self.folder} cannot be made ({error.strerror})."
                " Choose another data folder with --data."
            )
            raise CalibrationError(msg) from error
        path = self.folder / file_name(certificate)
        save_certificate(certificate, path)
        return path

    def all(self) -> list[Shelved]:
        """List what is there.

        Returns:
            Every sound certificate, the newest first; `damaged` says what was left out.

        Raises:
            CalibrationError: the folder is there and cannot be read.
        """
        self.damaged = []
        try:
            paths = sorted(self.folder.glob("*.json"))
        except OSError as error:
            msg = f"The folder {self.folder} cannot be read ({error.strerror})."
            raise CalibrationError(msg) from error
        found = []
        for path in paths:
            try:
                found.append(Shelved(path, load_certificate(path)))
            except CalibrationError as error:
                self.damaged.append(str(error))
        return sorted(found, key=_made, reverse=True)

    def of_board(self, identity: Identity | None, address: str) -> list[Shelved]:
        """List the certificates of one board.

        Args:
            identity: what the board says of itself, None where it says nothing.
            address: where it is plugged in.

        Returns:
            The newest first.

        Raises:
            CalibrationError: the folder cannot be read.
        """
        return of_board(self.all(), "" if identity is None else identity.board, address)

    def newest(self, identity: Identity | None, address: str) -> Certificate | None:
        """Find the certificate a board is to be used with.

        Args:
            identity: what the board says of itself, None where it says nothing.
            address: where it is plugged in.

        Returns:
            The newest one of this board, None where it was never calibrated.

        Raises:
            CalibrationError: the folder cannot be read.
        """
        found = self.of_board(identity, address)
        return found[0].certificate if found else None

    def find(self, certificate_id: str) -> Certificate:
        """Find a certificate by its id.

        Args:
            certificate_id: the id, or as much of its beginning as no other one has.

        Returns:
            The certificate.

        Raises:
            CalibrationError: there is none, or more than one.
        """
        found = [
            one.certificate
            for one in self.all()
            if certificate_id and one.certificate.id.startswith(certificate_id)
        ]
        if len(found) == 1:
            return found[0]
        how_many = f"{len(found)} certificates begin" if found else "No certificate begins"
        msg = f"{how_many} with {certificate_id!r} in {self.folder}. Give the whole id."
        raise CalibrationError(msg)


def of_board(shelved: Sequence[Shelved], name: str, address: str) -> list[Shelved]:
    """Pick out the certificates of one board.

    Args:
        shelved: certificates.
        name: what the board calls itself, empty where it has no name.
        address: where it is plugged in; of no effect where it has a name.

    Returns:
        Those of this board, in the same order.
    """
    if name:
        return [one for one in shelved if board_name(one.certificate) == name]
    place = place_of(address)
    return [
        one
        for one in shelved
        if not one.certificate.board and place_of(one.certificate.address) == place
    ]


def board_words(identity: Identity | None) -> str:
    """Write what a board says of itself, as it stands in a certificate.

    Args:
        identity: what it says, or None.

    Returns:
        Name and firmware, such as `wall-left 1.2`; empty where it has no name.
    """
    if identity is None or not identity.board:
        return ""
    return f"{identity.board} {identity.firmware}".strip()


def board_name(certificate: Certificate) -> str:
    """Read the name of the board from its certificate; empty where it had none."""
    return certificate.board.split(" ", 1)[0]


def place_of(address: str) -> str:
    """Take the options off an address: a port is the same at any speed."""
    return _OPTIONS.sub("", address)


def file_name(certificate: Certificate) -> str:
    """Name the file of a certificate.

    Args:
        certificate: the certificate.

    Returns:
        Board, date and id, such as `wall-left-2026-03-01-0123456789ab.json`.
    """
    said = board_name(certificate) or place_of(certificate.address) or "board"
    word = _NO_NAME.sub("-", said.lower()).strip("-.")[-LONGEST_NAME:].strip("-.")
    date = certificate.made_at[:10]
    return f"{word or 'board'}-{date}-{certificate.id}.json"


def age_words(certificate: Certificate, now: datetime) -> str:
    """Say how old a certificate is.

    Args:
        certificate: the certificate.
        now: the moment, with its offset.

    Returns:
        Words such as `made 12 days ago`.
    """
    days = (now - datetime.fromisoformat(certificate.made_at)).days
    if days < 1:
        return "made less than a day ago"
    return "made 1 day ago" if days == 1 else f"made {days} days ago"


def _made(one: Shelved) -> tuple[datetime, str]:
    return datetime.fromisoformat(one.certificate.made_at), one.certificate.id
