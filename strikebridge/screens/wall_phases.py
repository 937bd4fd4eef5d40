"""What stands on the wall in each scene: words and numbers in their boxes; no Qt, no clock.

A scene is a phase, or what takes its place: where the coach types the force, and in a session
of a group (`session_wall`).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from strikebridge.screens import wall_words as say
from strikebridge.screens.items import Align, Box, Fist, Item, Number, Words
from strikebridge.screens.wall_layout import (
    LABEL_CAP,
    NAME_CAP,
    SENTENCE_CAP,
    SMALL_CAP,
    STANDING_CAP,
    Frame,
)
from strikebridge.screens.wall_scene import Scene

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.glance import Glance
    from strikebridge.screens.look import State

LATE_CAP = 0.031
LABEL_ROOM = 0.14  # of the lane's width, for the force at a mark
PEAK_ROOM = 0.30  # of the lane's width, kept for the peak's label


def header(glance: Glance, the: Frame) -> list[Item]:
    """Say whose rep it is, what is done and which rep: one row at the top.

    Args:
        glance: what is known.
        the: the frame.
    """
    cap = the.cap(NAME_CAP)
    return [
        Words(glance.athlete, the.name, cap),
        Words(say.punch_text(glance), the.punch, cap, Align.CENTRE, is_bold=False),
        Words(say.rep_text(glance), the.rep, cap, Align.RIGHT, is_bold=False),
    ]


def beside_number(glance: Glance, the: Frame, caption: str, beside: str) -> list[Item]:
    """Say what the big number is: its unit, its ± and a word beside it.

    Args:
        glance: what is known.
        the: the frame.
        caption: what it is.
        beside: words under the unit.
    """
    return [
        Words(caption, the.caption, the.cap(SMALL_CAP), is_quiet=True, is_bold=False),
        Words(say.unit_text(glance.unit), the.unit, the.cap(0.10)),
        Words(beside, the.beside, the.cap(0.055), lines=2),
        Words(
            say.doubt_text(glance), the.doubt, the.cap(SMALL_CAP), Align.RIGHT, is_bold=False
        ),
    ]


def mark_labels(glance: Glance, the: Frame, marks: tuple[float, ...]) -> list[Item]:
    """Put the force at each mark under it; the edges of a band read away from each other.

    Args:
        glance: what is known.
        the: the frame.
        marks: how far along the lane each stands, 0 to 1.
    """
    row, cap = the.labels, the.cap(LABEL_CAP)
    room = LABEL_ROOM * row.w
    items: list[Item] = []
    free = row.x + PEAK_ROOM * row.w  # where marks crowd to the left their labels stay in order
    for index, (text, share) in enumerate(zip(say.mark_texts(glance), marks, strict=True)):
        at = row.x + share * row.w
        left, align = at - room / 2.0, Align.CENTRE
        if len(marks) > 1:
            left, align = (at - room, Align.RIGHT) if index == 0 else (at, Align.LEFT)
        left = max(free, min(left, row.right - room))
        free = left + room
        box = Box(left, row.y, min(room, row.right - left), row.h)
        items.append(Words(text, box, cap, align, is_quiet=True, is_bold=False))
    return items


def _ready(glance: Glance, the: Frame, state: State) -> list[Item]:
    if glance.peak_N is not None:
        return _hold(glance, the, state)  # a free rep, begun without a count-in
    return [
        *header(glance, the),
        *beside_number(glance, the, "now", say.aim_text(glance)),
        Words(say.ready_text(glance), the.standing, the.cap(STANDING_CAP)),
        Words(say.remark_text(glance), the.labels, the.cap(LABEL_CAP), is_quiet=True),
    ]


def _hold(glance: Glance, the: Frame, state: State) -> list[Item]:
    text = say.standing_text(glance, state)
    if glance.trouble is not None:
        text = say.trouble_text(glance)
    return [
        *header(glance, the),
        *beside_number(glance, the, "now", say.seconds_text(glance)),
        Words(text, the.standing, the.cap(STANDING_CAP)),
        Words(say.peak_text(glance), the.peak_label, the.cap(LABEL_CAP), is_bold=False),
    ]


def _result(glance: Glance, the: Frame, _state: State) -> list[Item]:
    return [
        *outcome(glance, the),
        Words(
            "" if glance.is_typed else "the first half second of your push",
            the.late_labels,
            the.cap(LATE_CAP),
            is_bold=False,
        ),
        Words(
            say.quality_text(glance),
            the.late_quality,
            the.cap(LATE_CAP),
            Align.RIGHT,
            is_bold=False,
        ),
    ]


def outcome(glance: Glance, the: Frame) -> list[Item]:
    """Say what came of a rep, down to the row under curve and bricks.

    Args:
        glance: what is known.
        the: the frame.
    """
    snap = {True: "snap", False: "no snap", None: ""}[glance.is_snap]
    return [
        *header(glance, the),
        *beside_number(glance, the, "held" if glance.is_typed else "peak", snap),
        Words(
            say.change_text(glance),
            the.standing,
            the.cap(SMALL_CAP),
            is_bold=False,
        ),
        Words(
            glance.sentence if glance.trouble is None else say.trouble_text(glance),
            the.sentence,
            the.cap(SENTENCE_CAP),
            lines=2,
        ),
    ]


def _typing(glance: Glance, the: Frame, _state: State) -> list[Item]:
    """Ask for what a plain scale showed."""
    return [
        *header(glance, the),
        Words("What did the scale show?", the.box(0.16, 0.24), the.cap(0.055)),
        Number(
            say.entry_text(glance), the.box(0.27, 0.68, 0.0, 0.78), the.cap(0.36), Align.RIGHT
        ),
        Words(glance.entry_unit.value, the.box(0.50, 0.68, 0.80, 1.0), the.cap(0.12)),
        Words(
            glance.question or "Type it, then Enter.",
            the.box(0.73, 0.90),
            the.cap(0.05),
            lines=2,
            is_bold=bool(glance.question),
        ),
    ]


def _typed_ready(glance: Glance, the: Frame, _state: State) -> list[Item]:
    """Stand ready where no force can be shown."""
    return [
        *header(glance, the),
        Words("Ready when you are", the.box(0.30, 0.55), the.cap(0.14)),
        Words(say.aim_text(glance), the.box(0.60, 0.70), the.cap(0.055), is_bold=False),
    ]


def _typed_hold(glance: Glance, the: Frame, state: State) -> list[Item]:
    """Count the seconds of the hold down, and say that it is one."""
    return [
        *_count_in(replace(glance, athlete=""), the, state),
        Words("Hold", the.box(0.012, 0.125), the.cap(0.085), Align.CENTRE),
    ]


def _count_in(glance: Glance, the: Frame, _state: State) -> list[Item]:
    return [
        Words(glance.athlete, the.box(0.012, 0.125), the.cap(0.085)),
        Number(say.count_text(glance), the.box(0.135, 0.765), the.cap(0.60), Align.CENTRE),
        Words(say.aim_text(glance), the.box(0.775, 0.855, 0.0, 0.55), the.cap(STANDING_CAP)),
        Words(
            say.punch_text(glance),
            the.box(0.775, 0.855, 0.56, 1.0),
            the.cap(STANDING_CAP),
            Align.RIGHT,
            is_bold=False,
        ),
    ]


def _rest(glance: Glance, the: Frame, _state: State) -> list[Item]:
    is_right = glance.hand == "right"
    fist = the.box(0.44, 0.80, 0.70 if is_right else 0.0, 1.0 if is_right else 0.30)
    words = (0.0, 0.66) if is_right else (0.34, 1.0)
    align = Align.LEFT if is_right else Align.RIGHT
    if not glance.hand:
        words, align = (0.0, 1.0), Align.CENTRE
    hand = f"{glance.hand} hand" if glance.hand else ""
    items: list[Item] = [
        Words("next" if glance.following else "", the.box(0.012, 0.075), the.cap(SMALL_CAP)),
        Words(
            say.next_name(glance), the.box(0.085, 0.43), the.cap(0.24), Align.CENTRE, lines=2
        ),
        Words(glance.exercise, the.box(0.46, 0.63, *words), the.cap(0.107), align),
        Words(hand, the.box(0.64, 0.79, *words), the.cap(0.09), align, is_bold=False),
        Words(say.rest_text(glance), the.box(0.84, 0.94), the.cap(0.055), Align.CENTRE),
    ]
    if glance.hand:
        items.append(Fist(glance.hand, fist))
    return items


def waiting(glance: Glance, the: Frame, _state: State) -> list[Item]:
    """Say that the board is waited for, what happened to it and since when.

    Args:
        glance: what is known.
        the: the frame.
    """
    what, advice = "Waiting for the board.", "Plug it in; I go on by myself."
    if glance.trouble is not None:
        what, advice = glance.trouble.what, glance.trouble.advice
    return [
        Words(what, the.box(0.08, 0.50), the.cap(0.14), lines=3),
        Words(advice, the.box(0.54, 0.82), the.cap(0.075), lines=3, is_bold=False),
        Words(
            say.since_text(glance),
            the.box(0.86, 0.93, 0.0, 0.40),
            the.cap(SMALL_CAP),
            is_quiet=True,
            is_bold=False,
        ),
    ]


FREE: dict[Scene, Callable[[Glance, Frame, State], list[Item]]] = {
    Scene.WAITING: waiting,
    Scene.READY: _ready,
    Scene.COUNT_IN: _count_in,
    Scene.HOLD: _hold,
    Scene.RESULT: _result,
    Scene.REST: _rest,
    Scene.TYPING: _typing,
    Scene.TYPED_READY: _typed_ready,
    Scene.TYPED_HOLD: _typed_hold,
}
"""What stands on the wall in each scene; the last ones where the coach types the force."""
