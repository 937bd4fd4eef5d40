"""Every key of the window of a rig, in one table; the footer is written from it.

The clicker's keys do what they do at the wall: forward takes, back redoes.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.screens.keys import Own

if TYPE_CHECKING:
    from collections.abc import Collection


class Lead(StrEnum):
    """What a coach can say to whoever leads; the words are those of its own keys."""

    NEXT = "next"
    REDO = "redo"
    QUIT = "quit"
    CANCEL = "cancel"


@dataclass(frozen=True, slots=True)
class RigRow:
    """Keys that do the same.

    Attributes:
        keys: as Qt writes them.
        shown: as the footer writes them.
        does: in one word or two.
        action: for whoever leads, or for the window itself.
    """

    keys: tuple[str, ...]
    shown: str
    does: str
    action: Lead | Own


RIG_ROWS: tuple[RigRow, ...] = (
    RigRow(
        ("Space", "PgDown", "Return", "Enter"), "Space, PageDown", "take it, go on", Lead.NEXT
    ),
    RigRow(("PgUp", "R"), "R, PageUp", "redo", Lead.REDO),
    RigRow(("Q", "B", "."), "Q, B, full stop", "finish", Lead.QUIT),
    RigRow(("C",), "C", "cancel", Lead.CANCEL),
    RigRow(("D",), "D", "dark or daylight", Own.SCHEME),
    RigRow(("U",), "U", "unit", Own.UNIT),
    RigRow(("F11",), "F11", "full screen", Own.FULL_SCREEN),
    RigRow(("Esc",), "Esc", "window", Own.WINDOW),
    RigRow(("Ctrl+Q",), "Ctrl+Q", "close", Own.CLOSE),
)
"""In the order of the footer."""

RIG_ACTIONS: dict[str, Lead | Own] = {key: row.action for row in RIG_ROWS for key in row.keys}
"""Key as Qt writes it -> what it does."""


def footer(leads: Collection[str], owns: Collection[Own], *, has_ended: bool) -> str:
    """Write the footer: only keys that mean something now.

    Args:
        leads: words of the keys that whoever leads hears now.
        owns: what the page lets the window do.
        has_ended: True where the first key closes the window.

    Returns:
        One line.
    """
    parts = []
    for row in RIG_ROWS:
        if isinstance(row.action, Lead):
            if has_ended and row.action is Lead.NEXT:
                parts.append(f"{row.shown}: close")
            elif row.action.value in leads:
                parts.append(f"{row.shown}: {row.does}")
        elif row.action in owns:
            parts.append(f"{row.shown}: {row.does}")
    return "      ".join(parts)
