"""What stands on the wall in a session of a group; no Qt, no clock.

| scene | biggest | second | small |
| --- | --- | --- | --- |
| turn (rest, ready) | the name | exercise, hand, a fist on that side | number to chase |
| counted in | 3, 2, 1 | the name | the mark, the breath cue |
| hold, outcome | the number | bricks, the sentence | change, who is next |
| drill | seconds left | who | exercise; that no number is asked for |
| paused, over | that word | what goes on, and how | |
| stopped for pain | that | for whom, and what to do | |
| board lost | what is wrong | what to do | since when, who is next |
| asked | the question | what each answer does | |
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from strikebridge.screens import wall_words as say
from strikebridge.screens.items import Align, Box, Fist, Item, Number, Words
from strikebridge.screens.wall_layout import SMALL_CAP, STANDING_CAP, Frame
from strikebridge.screens.wall_phases import LATE_CAP, outcome, waiting
from strikebridge.screens.wall_scene import Scene

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.glance import Glance
    from strikebridge.screens.look import State

NAME_CAP = 0.24
SAVED = "Everything so far is saved."
OPTION_COLUMNS = 3


@dataclass(frozen=True, slots=True)
class Question:
    """What the coach is asked.

    Attributes:
        what: the question, a few words.
        words: what an answer does.
        options: answers with their keys, nine at most.
    """

    what: str
    words: str
    options: tuple[str, ...] = ()


def asked(question: Question, the: Frame) -> list[Item]:
    """Put a question in place of everything else.

    Args:
        question: what is asked.
        the: the frame.
    """
    items: list[Item] = [
        Words(question.what, the.box(0.06, 0.30), the.cap(0.15), Align.CENTRE, lines=2),
        Words(
            question.words,
            the.box(0.33, 0.53),
            the.cap(0.06),
            Align.CENTRE,
            lines=3,
            is_bold=False,
        ),
    ]
    for index, option in enumerate(question.options):
        row, column = divmod(index, OPTION_COLUMNS)
        top, left = 0.56 + 0.13 * row, column / OPTION_COLUMNS
        box = the.box(top, top + 0.11, left, left + 0.96 / OPTION_COLUMNS)
        items.append(Words(option, box, the.cap(0.05), lines=2))
    return items


def _turn(glance: Glance, the: Frame, _state: State, *, has_notes: bool) -> list[Item]:
    """Call the athlete: the name can be read across the room."""
    is_right = glance.hand == "right"
    fist = the.box(0.42, 0.70, 0.74 if is_right else 0.0, 1.0 if is_right else 0.26)
    span = (0.0, 0.70) if is_right else (0.30, 1.0)
    align = Align.LEFT if is_right else Align.RIGHT
    if not glance.hand:
        span, align = (0.0, 1.0), Align.CENTRE
    is_rest = glance.stage == "rest"
    hand = f"{glance.hand} hand" if glance.hand else ""
    now = "" if is_rest or glance.is_timed else _now_text(glance)
    items: list[Item] = [
        Words(
            "next" if is_rest else "at the wall",
            the.box(0.012, 0.075, 0.0, 0.30),
            the.cap(SMALL_CAP),
        ),
        Words(
            now,
            the.box(0.012, 0.075, 0.31, 0.62),
            the.cap(SMALL_CAP),
            Align.CENTRE,
            is_quiet=True,
            is_bold=False,
        ),
        _reps(glance, the),
        Words(glance.athlete, the.box(0.080, 0.405), the.cap(NAME_CAP), Align.CENTRE, lines=2),
        Words(glance.exercise, the.box(0.42, 0.57, *span), the.cap(0.10), align, lines=2),
        Words(hand, the.box(0.58, 0.70, *span), the.cap(0.08), align, is_bold=False),
        Words(_asks(glance), the.box(0.71, 0.785), the.cap(0.05), Align.CENTRE),
        Words(
            say.notes_text(glance, has_notes=has_notes),
            the.box(0.790, 0.850),
            the.cap(SMALL_CAP),
            Align.CENTRE,
            is_bold=False,
        ),
        Words(say.begins_text(glance), the.box(0.860, 0.945, 0.0, 0.52), the.cap(0.06)),
        _then(glance, the),
    ]
    if glance.hand:
        items.append(Fist(glance.hand, fist))
    return items


def _now_text(glance: Glance) -> str:
    """Say the force at a ball that nobody should be touching yet."""
    number = say.number_text(glance)
    return f"now {number} {glance.unit}" if number != say.DASHES else ""


def _asks(glance: Glance) -> str:
    if glance.is_timed:
        seconds = "" if glance.hold_s is None else f"{glance.hold_s:g} s, "
        return f"{seconds}timed: no number asked for"
    return say.chase_text(glance)


def _reps(glance: Glance, the: Frame) -> Item:
    box = the.box(0.012, 0.075, 0.63, 1.0)
    return Words(say.rep_text(glance), box, the.cap(SMALL_CAP), Align.RIGHT, is_bold=False)


def _then(glance: Glance, the: Frame) -> Item:
    box = the.box(0.860, 0.945, 0.54, 1.0)
    return Words(say.then_text(glance), box, the.cap(0.045), Align.RIGHT, is_bold=False)


def _counted(glance: Glance, the: Frame, _state: State, *, has_notes: bool) -> list[Item]:
    return [
        Words(glance.athlete, the.box(0.012, 0.125, 0.0, 0.66), the.cap(0.085)),
        Words(
            say.notes_text(glance, has_notes=False),
            the.box(0.012, 0.125, 0.68, 1.0),
            the.cap(STANDING_CAP),
            Align.RIGHT,
            lines=2,
            is_bold=False,
        ),
        Number(say.count_text(glance), the.box(0.135, 0.765), the.cap(0.60), Align.CENTRE),
        Words(_aim(glance), the.box(0.775, 0.855, 0.0, 0.55), the.cap(STANDING_CAP)),
        Words(
            say.punch_text(glance),
            the.box(0.775, 0.855, 0.56, 1.0),
            the.cap(STANDING_CAP),
            Align.RIGHT,
            lines=2,
            is_bold=False,
        ),
    ]


def _aim(glance: Glance) -> str:
    return "" if glance.is_timed else say.aim_text(glance)


def _outcome(glance: Glance, the: Frame, _state: State, *, has_notes: bool) -> list[Item]:
    what = "the first half second" if len(glance.rise.time_s) else ""
    cap, row = the.cap(LATE_CAP), (0.880, 0.940)
    follow, quality = say.then_text(glance), say.quality_text(glance)
    return [
        *outcome(glance, the),
        Words(what, the.box(*row, 0.0, 0.26), cap, is_bold=False),
        Words(follow, the.box(*row, 0.27, 0.66), the.cap(SMALL_CAP), Align.CENTRE),
        Words(quality, the.box(*row, 0.67, 1.0), cap, Align.RIGHT, is_bold=False),
    ]


def _drill(glance: Glance, the: Frame, _state: State, *, has_notes: bool) -> list[Item]:
    seconds = str(say.whole_seconds(glance.seconds_left or 0.0))
    return [
        Words(glance.athlete, the.box(0.012, 0.125, 0.0, 0.66), the.cap(0.085)),
        Words(
            say.rep_text(glance),
            the.box(0.012, 0.125, 0.68, 1.0),
            the.cap(SMALL_CAP),
            Align.RIGHT,
            is_bold=False,
        ),
        Number(seconds, the.box(0.135, 0.640), the.cap(0.48), Align.CENTRE),
        Words(say.punch_text(glance), the.box(0.655, 0.780), the.cap(0.09), Align.CENTRE),
        Words(
            say.trouble_text(glance) or "seconds left; timed, no number asked for",
            the.box(0.790, 0.850),
            the.cap(SMALL_CAP),
            Align.CENTRE,
            is_bold=False,
        ),
        Words(
            say.notes_text(glance, has_notes=has_notes),
            the.box(0.860, 0.945, 0.0, 0.52),
            the.cap(SMALL_CAP),
            is_bold=False,
        ),
        _then(glance, the),
    ]


def _drilled(glance: Glance, the: Frame, _state: State, *, has_notes: bool) -> list[Item]:
    follow = say.then_text(glance)
    return [*_word("Time", glance, the), *_below(say.punch_text(glance), "", follow, the)]


def _missed(glance: Glance, the: Frame, _state: State, *, has_notes: bool) -> list[Item]:
    who = ", ".join(part for part in (glance.athlete, say.punch_text(glance)) if part)
    return [
        Words("No hold seen", the.box(0.08, 0.44), the.cap(0.20), Align.CENTRE, lines=2),
        *_below("Space goes on.", who, say.then_text(glance), the),
    ]


def _paused(glance: Glance, the: Frame, _state: State, *, has_notes: bool) -> list[Item]:
    who = ", ".join(part for part in (glance.athlete, say.punch_text(glance)) if part)
    return [
        *_word("Paused", glance, the),
        *_below("Space goes on.", f"Then {who}.", SAVED, the),
    ]


def _over(glance: Glance, the: Frame, _state: State, *, has_notes: bool) -> list[Item]:
    return [
        *_word("Done", glance, the),
        *_below("Space: look at what was done.", "", SAVED, the),
    ]


def _word(word: str, glance: Glance, the: Frame) -> list[Item]:
    return [Words(word, the.box(0.08, 0.44), the.cap(0.26), Align.CENTRE)]


def _below(first: str, second: str, third: str, the: Frame) -> list[Item]:
    return [
        Words(first, the.box(0.48, 0.61), the.cap(0.08), Align.CENTRE, is_bold=False),
        Words(second, the.box(0.64, 0.77), the.cap(STANDING_CAP), Align.CENTRE, lines=2),
        Words(third, the.box(0.80, 0.88), the.cap(0.045), Align.CENTRE, is_bold=False),
    ]


def _stopped(glance: Glance, the: Frame, _state: State, *, has_notes: bool) -> list[Item]:
    what, *words = glance.advice
    go = "Space goes on." if glance.stage == "paused" else ""
    who = ", ".join(part for part in (glance.athlete, say.punch_text(glance)) if part)
    then = f"Then {who}. {go}".strip()
    if glance.stage == "over":
        then = "That was the last turn. Space: look at what was done."
    return [
        Words(what, the.box(0.04, 0.36), the.cap(0.20), Align.CENTRE, lines=2),
        Words(" ".join(words), the.box(0.39, 0.76), the.cap(0.065), lines=4, is_bold=False),
        Words(then, the.box(0.80, 0.93), the.cap(0.05), lines=2),
    ]


def _lost(glance: Glance, the: Frame, state: State, *, has_notes: bool) -> list[Item]:
    who = ", ".join(part for part in (glance.athlete, say.punch_text(glance)) if part)
    box: Box = the.box(0.86, 0.93, 0.41, 1.0)
    then = f"then {who}" if who else ""
    return [
        *waiting(glance, the, state),
        Words(then, box, the.cap(SMALL_CAP), Align.RIGHT, lines=2, is_bold=False),
    ]


class Fill(Protocol):
    """Puts words and numbers onto the wall."""

    def __call__(
        self, glance: Glance, the: Frame, state: State, /, *, has_notes: bool
    ) -> list[Item]:
        """Fill one scene."""
        ...


SESSION: Mapping[Scene, Fill] = {
    Scene.STOPPED: _stopped,
    Scene.LOST: _lost,
    Scene.TURN: _turn,
    Scene.COUNTED: _counted,
    Scene.OUTCOME: _outcome,
    Scene.DRILL: _drill,
    Scene.DRILLED: _drilled,
    Scene.MISSED: _missed,
    Scene.PAUSED: _paused,
    Scene.OVER: _over,
}
"""What stands on the wall in each scene of a session; a hold is one as any other."""
