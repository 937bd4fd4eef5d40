"""What the coach's page shows, decided without a window.

On the left the order; on the right, from the top, what is under way, the reps of the set at a
glance, their curves laid over each other from the onset, and the cues with their keys. A rep
that was taken back stays, in words; its curve is gone.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from strikebridge.glance import Phase
from strikebridge.screens import rig_parts as parts
from strikebridge.screens import wall_words as say
from strikebridge.screens.figure import (
    Bar,
    Page,
    PageItem,
    with_words,
)
from strikebridge.screens.items import Align, Number, Words
from strikebridge.screens.look import State
from strikebridge.screens.rep_rows import (
    HEAD_CAP,
    RIGHT,
    ROW_CAP,
    RepRow,
    curves_over,
    rep_rows,
)
from strikebridge.screens.review_model import value_words
from strikebridge.screens.rig_layout import KEYS_CAP, RigFrame
from strikebridge.screens.session_wall import Question, asked
from strikebridge.screens.wall_layout import frame
from strikebridge.session.group_table import Stage
from strikebridge.session.undone import ASKED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.desk import Attempt, Desk, Place
    from strikebridge.glance import Glance
    from strikebridge.units import ForceUnit

PLACES_SHOWN = 8
REPS_SHOWN = 5
CUES_SHOWN = 9  # one digit key each
LEFT = 0.255  # of the width: the order
PHASE_WORDS = {
    Phase.WAITING: "waiting for the board",
    Phase.READY: "ready",
    Phase.COUNT_IN: "count-in",
    Phase.HOLD: "hold",
    Phase.RESULT: "result",
    Phase.REST: "rest",
}
STAGE_WORDS = {
    Stage.DRILL: "timed",
    Stage.PAUSED: "paused: Space goes on",
    Stage.LOST: "board lost: it waits",
    Stage.OVER: "over; Space: look at what was done",
}
"""Where a session is, where the phase does not say it."""


class CoachModel:
    """Decide what stands on the coach's page; curves are laid out only when the reps change.

    Attributes:
        keys: every key and what it does, one line.
        question: what the coach is asked, in place of everything else; None for nothing.
    """

    def __init__(self, keys: str = "") -> None:
        """Begin with nothing shown.

        Args:
            keys: every key and what it does, one line.
        """
        self.keys = keys
        self.question: Question | None = None
        self._made_of: tuple[object, ...] = ()
        self._attempts: tuple[Attempt, ...] = ()  # kept, so that identities are not given away
        self._figure: list[PageItem] = []

    def look(self, glance: Glance, desk: Desk, size: tuple[float, float]) -> Page:
        """Decide the page.

        Args:
            glance: what is known now.
            desk: order, reps, cues.
            size: width and height [px].

        Returns:
            What is to be painted.
        """
        the = RigFrame(*size)
        footer = parts.plain(
            self.keys,
            the.box(0.950, 0.998),
            the.cap(KEYS_CAP),
            lines=2,
            align=Align.CENTRE,
            is_quiet=True,
        )
        question = self.question
        if question is None and glance.advice[:1] == (ASKED,):
            question = Question(ASKED, " ".join(glance.advice[1:]))
        if question is not None:
            words = (one for one in asked(question, frame(*size)))
            return with_words((*(one for one in words if isinstance(one, Words)), footer))
        items = [*_order(glance, desk, the), *_now(glance, the)]
        rows = [row_of(one, glance.unit) for one in desk.attempts[-REPS_SHOWN:]]
        items += rep_rows(rows, the, glance.unit)
        made_of = (size, glance.unit, glance.hold_s, *map(id, desk.attempts))
        if made_of != self._made_of:
            self._made_of, self._attempts = made_of, desk.attempts
            kept = [(one.number, one.rep) for one in desk.attempts if one.is_kept]
            self._figure = curves_over(kept, the, glance.unit, glance.hold_s)
        items += self._figure
        items += _cues(desk.cues, the)
        return with_words((*items, footer))


def row_of(attempt: Attempt, unit: ForceUnit) -> RepRow:
    """Put a rep into words.

    Args:
        attempt: the rep.
        unit: the coach's unit.
    """
    verdict = attempt.rep.verdict
    return RepRow(
        number=attempt.number,
        peak=value_words(attempt.rep.measures["peak_force"], unit),
        rise=verdict.rise if attempt.is_kept else "taken back",
        hold=verdict.hold if attempt.is_kept else "",
        bricks=attempt.rep.bricks,
        cue=attempt.cue,
    )


def _order(glance: Glance, desk: Desk, the: RigFrame) -> list[PageItem]:
    """Say who comes when; as many as there is room for, from whose turn it is."""
    head = the.box(0.012, 0.050, 0.0, LEFT)
    items: list[PageItem] = [parts.plain("order", head, the.cap(HEAD_CAP), is_quiet=True)]
    first = next((i for i, place in enumerate(desk.order) if place.is_now), 0)
    shown = desk.order[first : first + PLACES_SHOWN]
    if _is_result(glance) and shown and shown[0].name != glance.athlete:
        # The turn has passed on, the result has not: nobody may take it for the next one's.
        shown = tuple(replace(one, is_now=False, is_next=one is shown[0]) for one in shown)
    high = 0.087
    for index, place in enumerate(shown):
        items += _place(place, the, 0.055 + index * high, high)
    if not shown:
        name = the.box(0.055, 0.110, 0.012, LEFT)
        items.append(parts.bold(glance.athlete or "Free reps", name, the.cap(0.030), lines=2))
    rest = len(desk.order) - first - len(shown)
    if rest > 0:
        more = the.box(0.755, 0.785, 0.012, LEFT)
        items.append(parts.plain(f"and {rest} more", more, the.cap(HEAD_CAP), is_quiet=True))
    notes = the.box(0.790, 0.890, 0.0, LEFT)
    items.append(parts.plain(" ".join(desk.notes), notes, the.cap(ROW_CAP), lines=4))
    return items


def _place(place: Place, the: RigFrame, top: float, high: float) -> list[PageItem]:
    items: list[PageItem] = []
    middle, bottom = top + 0.54 * high, top + 0.94 * high
    if place.is_now:
        items.append(Bar(the.box(top, bottom, 0.0, 0.006).on_pixels(), 1.0, State.PUSH))
    name = the.box(top, middle, 0.012, LEFT)
    make = parts.bold if place.is_now else parts.plain
    cap_px = the.cap(0.028 if place.is_now else 0.024)
    items.append(make(place.name, name, cap_px, lines=2))
    when = "now" if place.is_now else "next" if place.is_next else ""
    done = "" if place.planned is None else f"{place.done} of {place.planned} done"
    words = ", ".join(part for part in (when, place.asks, done) if part)
    where = the.box(middle, bottom, 0.012, LEFT)
    items.append(parts.plain(words, where, the.cap(HEAD_CAP), is_quiet=True))
    return items


def _now(glance: Glance, the: RigFrame) -> list[PageItem]:
    """Say what is under way: phase, seconds, the force or the peak, and the wall's sentence."""
    phase = PHASE_WORDS[glance.phase]
    if glance.stage:
        phase = STAGE_WORDS.get(Stage(glance.stage), phase)
    left = say.seconds_text(glance)
    head = ", ".join(part for part in (phase, left, say.rep_text(glance)) if part)
    is_up = glance.peak_N is not None and glance.phase in (Phase.HOLD, Phase.RESULT)
    advice = ". ".join(glance.advice)
    said = (advice, glance.warning, glance.sentence, glance.remark)
    sentence = say.trouble_text(glance) or glance.told or next(filter(None, said), "")
    doubt = say.doubt_text(glance) if is_up else "now"
    asked_for = say.punch_text(glance)
    if _is_result(glance):
        asked_for = f"{glance.athlete}: {asked_for}"
    number, unit_words = say.number_text(glance), say.unit_text(glance.unit)
    aim = say.chase_text(glance) if glance.stage else say.aim_text(glance)
    if glance.is_timed:
        left_s = say.whole_seconds(glance.seconds_left or 0.0)
        number, unit_words, doubt, aim = f"{left_s}", "s", "left", "no number asked for"
    side = the.box(0.012, 0.050, 0.71, 1.0)
    under = the.box(0.155, 0.195, 0.71, 1.0)
    unit = the.box(0.100, 0.150, 0.94, 1.0)
    return [
        parts.plain(head, the.box(0.012, 0.050, RIGHT, 0.70), the.cap(0.022)),
        parts.plain(aim, side, the.cap(0.022), align=Align.RIGHT),
        parts.bold(asked_for, the.box(0.055, 0.110, RIGHT, 0.70), the.cap(0.034), lines=2),
        parts.plain(sentence, the.box(0.115, 0.195, RIGHT, 0.70), the.cap(0.024), lines=2),
        Number(number, the.box(0.055, 0.150, 0.71, 0.93), the.cap(0.085)),
        parts.bold(unit_words, unit, the.cap(0.032)),
        parts.plain(doubt, under, the.cap(0.020), align=Align.RIGHT, is_quiet=True),
    ]


def _is_result(glance: Glance) -> bool:
    """Say whether the result of a turn stands, while the order has gone on to the next one."""
    return glance.stage == Stage.RESULT.value


def _cues(cues: Sequence[str], the: RigFrame) -> list[PageItem]:
    """Show the cues with their digit keys, in one row."""
    shown = cues[:CUES_SHOWN]
    if not shown:
        return []
    wide = 1.0 / len(shown)
    return [
        parts.plain(
            f"{index + 1}: {cue}",
            the.box(0.905, 0.948, index * wide, (index + 0.94) * wide),
            the.cap(ROW_CAP),
            lines=2,
        )
        for index, cue in enumerate(shown)
    ]
