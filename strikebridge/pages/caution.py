"""What is to be read once, before the first use and before the first maximal work."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

import msgspec

from strikebridge.pages.sheet import (
    DO_KEYS,
    LEAVE,
    LEAVE_KEYS,
    STAY,
    Column,
    NoForms,
    Sheet,
    SheetRow,
)
from strikebridge.private_files import open_private, private_folder

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.pages.sheet import Step

FILE = "cautions.json"


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution.

    Attributes:
        key: stable word; it is kept once it has been read.
        title: in a word or two.
        tell: the one thing to mind.
        words: the rest, one sentence a line.
    """

    key: str
    title: str
    tell: str
    words: tuple[str, ...]


FIRST_RUN = Caution(
    "first run",
    "Take care",
    "Holds, never punches: the kit is not made for blows.",
    (
        "Isometric efforts raise blood pressure steeply. Breathe out on the push.",
        "Anyone with heart or blood-pressure trouble asks a doctor first.",
        "Stop at pain in wrist, elbow or shoulder.",
        "Fix the rig into what takes several times the force. Stand clear of its line.",
        "strikebridge informs a coach. It is no medical device and replaces no local rules.",
    ),
)
MAXIMAL = Caution(
    "maximal",
    "Before maximal holds",
    "Warm up first. Breathe out on the push.",
    (
        "A maximal hold with held breath raises blood pressure the most.",
        "Heart or blood-pressure trouble: a doctor's word first, or leave it out.",
        "Pain in wrist, elbow or shoulder ends it for the day.",
        "No elbow flared high; open palm or ball before the fist.",
        "Near a bout, less.",
    ),
)
READ = SheetRow("read", ("Understood, go on",))


class CautionPage(NoForms):
    """One caution, read and put away."""

    def __init__(self, caution: Caution, data: Path) -> None:
        """Open the page.

        Args:
            caution: what is to be read.
            data: data folder, where it is kept that it was read.
        """
        self._caution = caution
        self._data = data

    def sheet(self) -> Sheet:
        """Say what is shown now."""
        rows = (SheetRow(str(at), (words,)) for at, words in enumerate(self._caution.words))
        all_rows = (*rows, READ)
        return Sheet(
            title=self._caution.title,
            tell=self._caution.tell,
            columns=(Column("", 1.0),),
            rows=all_rows,
            chosen=len(all_rows) - 1,
            lines=2,
            footer="Space, PageDown: understood, go on",
        )

    def press(self, key: str) -> Step:
        """Do what a key is for.

        Args:
            key: as Qt names it.
        """
        if key in (*DO_KEYS, *LEAVE_KEYS):
            note_read(self._data, self._caution)
            return LEAVE
        return STAY


def is_read(data: Path, caution: Caution) -> bool:
    """Say whether a caution has been read here.

    Args:
        data: data folder.
        caution: the caution.
    """
    return caution.key in _read(data)


def note_read(data: Path, caution: Caution) -> None:
    """Keep that a caution has been read.

    Args:
        data: data folder.
        caution: the caution.
    """
    read = sorted({*_read(data), caution.key})
    with contextlib.suppress(OSError):  # it is then shown once more, which harms nobody
        private_folder(data)
        with open_private(data / FILE, "wb") as file:
            file.write(msgspec.json.encode(read) + b"\n")


def _read(data: Path) -> list[str]:
    try:
        return msgspec.json.decode((data / FILE).read_bytes(), type=list[str])
    except (OSError, msgspec.MsgspecError):
        return []
