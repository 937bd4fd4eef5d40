"""What the start page shows, decided without a window: what is ready, missing, and next.

A row is a thing that a session needs. A row that is missing something leads to where it is put
right; the first of them that can be is what is done next, else the wall. Forward (Space,
PageDown) does what is chosen, back (PageUp) chooses the next row, so a presenter clicker is
enough; each row also has a letter of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import Bar, Page, PageItem, with_words
from strikebridge.screens.items import Align, Box
from strikebridge.screens.look import State
from strikebridge.screens.rig_layout import HEAD_CAP, KEYS_CAP, SMALL_CAP, RigFrame

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

TELL_CAP = 0.060
NAME_CAP = 0.028
FOOTER = (
    "Space, PageDown: do what is chosen      PageUp, arrows: choose      L: look again      "
    "D: dark or daylight      F11: full screen      Ctrl+Q: close"
)


class Lead(StrEnum):
    """Where a row leads; the terminal's commands have the same words where they exist."""

    SIMULATED = "simulated board"
    CALIBRATE = "calibrate"
    CHECK = "check"
    ATHLETES = "athletes"
    PLAN = "plan"
    SESSION = "session"
    WALL = "wall"
    REVIEW = "review"
    PROGRESS = "progress"
    BACKUP = "backup"


LETTERS: Mapping[Lead, str] = {
    Lead.SIMULATED: "S",
    Lead.CALIBRATE: "C",
    Lead.CHECK: "V",
    Lead.ATHLETES: "A",
    Lead.PLAN: "P",
    Lead.SESSION: "G",
    Lead.WALL: "W",
    Lead.REVIEW: "R",
    Lead.PROGRESS: "T",
    Lead.BACKUP: "K",
}
"""Where it leads -> its key."""

DOES: dict[Lead, str] = {
    Lead.SIMULATED: "use the simulated board",
    Lead.CALIBRATE: "calibrate with plates",
    Lead.CHECK: "check the rig",
    Lead.ATHLETES: "see the athletes",
    Lead.PLAN: "choose the plan",
    Lead.SESSION: "begin the session",
    Lead.WALL: "free reps at the wall",
    Lead.REVIEW: "look at what was done last",
    Lead.PROGRESS: "see who is up or fading",
    Lead.BACKUP: "make a backup",
}
"""Where it leads -> what is done there, as its row says it."""

TELLS: Mapping[Lead, str] = DOES | {Lead.SIMULATED: "plug a board in, or use the simulated one"}
"""The same as the page's head says it."""


class Standing(StrEnum):
    """How a thing stands; each has a face of its own beside its word."""

    READY = "ready"
    MIND = "mind"
    MISSING = "missing"
    LATER = "not yet"


FACES: Mapping[Standing, tuple[float, State]] = {
    Standing.READY: (1.0, State.THERE),
    Standing.MIND: (1.0, State.OVER),
    Standing.MISSING: (1.0, State.STALE),
    Standing.LATER: (0.0, State.REST),
}
"""How it stands -> share and state of its bar: hatched green, hatched red, crossed, empty."""


@dataclass(frozen=True, slots=True)
class Row:
    """One thing that a session needs.

    Attributes:
        name: in a word or two.
        standing: how it stands.
        words: what there is, or what is missing, one or two sentences.
        lead: where it leads, None where nothing can be done from here.
    """

    name: str
    standing: Standing
    words: str
    lead: Lead | None = None


def next_row(rows: Sequence[Row]) -> int:
    """Say which row is to be done next.

    Args:
        rows: in the order in which a session needs them.

    Returns:
        Index of the first that is not ready and leads somewhere; else of the session, of the
        wall, or 0.
    """
    for index, row in enumerate(rows):
        if row.lead is not None and row.standing in (Standing.MISSING, Standing.MIND):
            return index
    leads = [row.lead for row in rows]
    for lead in (Lead.SESSION, Lead.WALL):
        if lead in leads:
            return leads.index(lead)
    return 0


def after(rows: Sequence[Row], chosen: int, step: int) -> int:
    """Choose another row, passing over those that lead nowhere.

    Args:
        rows: what there is.
        chosen: index of the row chosen now.
        step: +1 for down, -1 for up.

    Returns:
        Index of the next row that leads somewhere, round the end; the same without one.
    """
    for distance in range(1, len(rows) + 1):
        index = (chosen + step * distance) % len(rows)
        if rows[index].lead is not None:
            return index
    return chosen


def start_page(
    rows: Sequence[Row], chosen: int, size: tuple[float, float], said: str = ""
) -> Page:
    """Decide the page.

    Args:
        rows: what there is, at least one.
        chosen: index of the chosen row.
        size: width and height of the page [px].
        said: what went wrong a moment ago, one sentence, or empty.

    Returns:
        What is to be painted.
    """
    the = RigFrame(*size)
    ready = sum(row.standing is Standing.READY for row in rows)
    lead = rows[chosen].lead
    tell = "Nothing can be done here yet." if lead is None else f"Next: {TELLS[lead]}."
    items: list[PageItem] = [
        parts.plain("strikebridge", the.head, the.cap(HEAD_CAP), is_quiet=True),
        parts.plain(
            f"{ready} of {len(rows)} ready",
            the.head_right,
            the.cap(HEAD_CAP),
            align=Align.RIGHT,
            is_quiet=True,
        ),
        parts.bold(tell, the.box(0.085, 0.205), the.cap(TELL_CAP)),
        parts.plain(said, the.box(0.885, 0.950), the.cap(SMALL_CAP), lines=2),
        parts.plain(FOOTER, the.keys, the.cap(KEYS_CAP), align=Align.CENTRE, is_quiet=True),
    ]
    high = (0.880 - 0.225) / len(rows)
    for index, row in enumerate(rows):
        top = 0.225 + index * high
        items += _row(row, the, top, high, is_chosen=index == chosen)
    return with_words(tuple(items))


def _row(
    row: Row, the: RigFrame, top: float, high: float, *, is_chosen: bool
) -> list[PageItem]:
    """Lay out one row: how it stands, name, words, key; an upright bar at the chosen one."""
    inner, bottom = top + 0.10 * high, top + 0.90 * high
    share, state = FACES[row.standing]
    face = the.box(top + 0.28 * high, top + 0.72 * high, 0.020, 0.060).on_pixels()
    items: list[PageItem] = [Bar(face, share, state)]
    if is_chosen:
        mark = the.box(inner, bottom, 0.0, 0.008).on_pixels()
        items.append(Bar(Box(mark.x, mark.y, mark.w, mark.h), 1.0, State.PUSH))
    name, words = the.box(inner, bottom, 0.075, 0.205), the.box(inner, bottom, 0.335, 0.745)
    stands = the.box(inner, bottom, 0.210, 0.325)
    items += [
        parts.bold(row.name, name, the.cap(NAME_CAP)),
        parts.plain(row.standing.value, stands, the.cap(SMALL_CAP)),
        parts.plain(row.words, words, the.cap(SMALL_CAP), lines=2, is_quiet=not is_chosen),
    ]
    if row.lead is not None:
        does = f"{LETTERS[row.lead]}: {DOES[row.lead]}"
        where = the.box(inner, bottom, 0.755, 1.0)
        items.append(parts.plain(does, where, the.cap(SMALL_CAP), align=Align.RIGHT))
    return items
