"""Every key of the wall's window, in one table; the footer is written from it.

A presenter clicker sends PageDown, PageUp and B or a full stop; a foot switch types one key.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.session.conductor import Key
from strikebridge.session.group_table import Input

if TYPE_CHECKING:
    from collections.abc import Collection


class Own(StrEnum):
    """What the window does itself."""

    SCHEME = "scheme"
    UNIT = "unit"
    FULL_SCREEN = "full screen"
    WINDOW = "window"
    COACH = "coach"
    CHECK = "check"
    MUTE = "mute"
    LOUDER = "louder"
    QUIETER = "quieter"
    CLOSE = "close"


@dataclass(frozen=True, slots=True)
class KeyRow:
    """Keys that do the same.

    Attributes:
        keys: as Qt writes them, such as `PgDown` or `Ctrl+Q`.
        shown: as the footer writes them; empty where another row speaks for them.
        does: in one word or two.
        action: for the conductor, or for the window itself.
    """

    keys: tuple[str, ...]
    shown: str
    does: str
    action: Key | Own | Input


KEY_ROWS: tuple[KeyRow, ...] = (
    KeyRow(("Space", "PgDown", "Return", "Enter"), "Space, PageDown", "go", Key.GO),
    KeyRow(("PgUp",), "PageUp", "redo", Key.REDO),
    KeyRow(("B", "."), "B, full stop", "stop", Key.STOP),
    KeyRow(("D",), "D", "dark or daylight", Own.SCHEME),
    KeyRow(("U",), "U", "unit", Own.UNIT),
    KeyRow(("C",), "C", "coach's page", Own.COACH),
    KeyRow(("V",), "V", "check the rig", Own.CHECK),
    KeyRow(("M",), "M, +, -", "sound", Own.MUTE),
    KeyRow(("+", "="), "", "louder", Own.LOUDER),
    KeyRow(("-",), "", "quieter", Own.QUIETER),
    KeyRow(("F11",), "F11", "full screen", Own.FULL_SCREEN),
    KeyRow(("Esc",), "Esc", "window", Own.WINDOW),
    KeyRow(("Ctrl+Q",), "Ctrl+Q", "close", Own.CLOSE),
)
"""In the order of the footer."""


TYPING_ACTIONS: dict[str, Key] = {
    **{str(digit): Key(str(digit)) for digit in range(10)},
    ".": Key.POINT,
    ",": Key.POINT,
    "Backspace": Key.RUB,
    "Return": Key.ENTER,
    "Enter": Key.ENTER,
}
"""Keys that write the number of a plain scale, as long as it is asked for."""

TYPING_FOOTER = (
    "Digits, Enter: the number      Backspace: rub out, correct      "
    "Space, PageDown: go      PageUp: redo      B: stop"
)
"""What the footer says where the coach types."""


SESSION_ROWS: tuple[KeyRow, ...] = (
    KeyRow(("P",), "P", "pause", Input.PAUSE),
    KeyRow(("S",), "S", "skip", Input.SKIP),
    KeyRow(("W",), "W", "swap", Input.SWAP),
    KeyRow(("Z", "Ctrl+Z"), "Z", "undo", Input.UNDO),
    KeyRow(("X",), "X", "pain", Input.PAIN),
)
"""What a session of a group has beside them; none of it is on a clicker."""
CUE_ROW = "1 to 9: cue"
TIE = "\u00a0"  # a space at which a line is never broken
ON_THE_WALL = frozenset((Own.SCHEME, Own.UNIT, Own.FULL_SCREEN, Own.WINDOW, Own.CLOSE))
"""What the wall of a session leaves to the coach's page to say."""
PAIN_KEY = SESSION_ROWS[-1].keys[0]


def footer(without: Collection[Own] = ()) -> str:
    """Write the footer of the wall.

    Args:
        without: what this window cannot do, such as checking the rig of a recording.

    Returns:
        Every key that means something and what it does, one line.
    """
    shown = (row for row in KEY_ROWS if row.shown and row.action not in without)
    return "      ".join(f"{row.shown}: {row.does}" for row in shown)


def session_footer(without: Collection[Own] = ()) -> str:
    """Write the footer of a session of a group.

    Args:
        without: what this window cannot do, or what another page says.

    Returns:
        Every key that means something and what it does, one line.
    """
    rows = (*KEY_ROWS[:3], *SESSION_ROWS)
    leads = [f"{row.shown}: {row.does}" for row in rows]
    owns = [
        f"{row.shown}: {row.does}"
        for row in KEY_ROWS[3:]
        if row.shown and row.action not in without
    ]
    return "      ".join(one.replace(" ", TIE) for one in (*leads, CUE_ROW, *owns))


ACTIONS: dict[str, Key | Own | Input] = {
    key: row.action for row in KEY_ROWS for key in row.keys
}
"""Key as Qt writes it -> what it does."""
SESSION_ACTIONS = {key: row.action for row in SESSION_ROWS for key in row.keys}
"""The same for what only a session of a group has."""
