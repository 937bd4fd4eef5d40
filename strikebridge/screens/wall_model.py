"""What the wall shows for a Glance, decided without a window.

`WallModel.look` turns a Glance, a size and the time into a `Picture`. It owns the two clocks of
the digits: the force now changes at most 10 times a second, every other text at most 5 times;
block, trace and peak follow each call. A change of phase, size or unit shows at once. The state
of the block changes at most 5 times a second, so that a tremor about the edge of a band
cannot make it flash more than 3 times a second (WCAG 2.3.1).
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import EMPTY_TRACE, Phase
from strikebridge.screens import wall_words as say
from strikebridge.screens.items import (
    Align,
    Box,
    Brick,
    Fist,
    Item,
    Lane,
    Live,
    Number,
    Picture,
    Words,
)
from strikebridge.screens.keys import TYPING_FOOTER
from strikebridge.screens.look import State
from strikebridge.screens.wall_layout import (
    KEYS_CAP,
    LABEL_CAP,
    NAME_CAP,
    NUMBER_CAP,
    SENTENCE_CAP,
    SMALL_CAP,
    STANDING_CAP,
    Frame,
    brick_row,
    frame,
)
from strikebridge.units import NEWTONS_PER_UNIT, ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.samples import Glance, Trace
FORCE_DIGITS_S = 0.1
TEXT_S = 0.2
SILENT_S = 1.0  # no newer glance for so long: the screen itself calls the force stale
TRACE_S = 6.0
RISE_S = 0.5
RISE_POINTS = 60
MARK_AT = 0.72  # where along the lane the mark stands
ROOM = 1.06  # the block's end keeps this far from the lane's end
FIRST_FULL_KG = 50.0
LABEL_ROOM = 0.14  # of the lane's width, for the force at a mark
PEAK_ROOM = 0.30  # of the lane's width, kept for the peak's label
STEPS = (1.0, 1.5, 2.0, 3.0, 5.0, 7.0, 10.0)


class WallModel:
    """Decide what stands on the wall and where.

    Attributes:
        keys: what the footer says of the keys.
        notice: shown in place of the keys, empty for none.
    """

    def __init__(self, keys: str = "") -> None:
        """Begin with nothing shown.

        Args:
            keys: every key and what it does, one line.
        """
        self.keys = keys
        self.notice = ""
        self._quick: Glance | None = None
        self._slow: Glance | None = None
        self._quick_at_s = -math.inf
        self._slow_at_s = -math.inf
        self._state = State.STALE
        self._state_at_s = -math.inf
        self._full_N = 0.0
        self._last: Glance | None = None
        self._newer_at_s = -math.inf
        self._size = (0.0, 0.0)
        self._items: frozenset[Item] = frozenset()
        # the two glances are kept above, so that their identities are not given away meanwhile
        self._made_of: tuple[object, ...] = ()
        self._bricks_of: tuple[object, ...] = ()
        self._laid: tuple[Brick, ...] = ()

    def look(self, glance: Glance, size: tuple[float, float], now_s: float) -> Picture:
        """Decide the picture.

        Args:
            glance: what is known now.
            size: width and height of the wall [px].
            now_s: any clock that never goes back [s].

        Returns:
            What is to be on the wall.
        """
        glance = self._own_stale(glance, now_s)
        self._renew(glance, size, now_s)
        self._scale(glance)
        the = frame(*size)
        return Picture(self._still(glance, the), self._live(glance, the))

    def _still(self, glance: Glance, the: Frame) -> frozenset[Item]:
        """Put together what stands still; the same as before unless something new may show."""
        quick, slow = self._quick or glance, self._slow or glance
        made_of = (
            id(quick),
            id(slow),
            glance.phase,
            self._size,
            self._state,
            self._full_N,
            self.notice,
            self.keys,
        )
        if made_of == self._made_of:
            return self._items
        self._made_of = made_of
        is_asked = slow.entry is not None
        fill = PHASES[glance.phase]
        if glance.is_typed:
            fill = _typing if is_asked else TYPED_PHASES.get(glance.phase, fill)
        items = [*fill(slow, the, self._state)]
        is_live = not glance.is_typed or (glance.phase is Phase.RESULT and not is_asked)
        if is_live and glance.phase in (Phase.READY, Phase.HOLD, Phase.RESULT):
            items.append(
                Number(say.number_text(quick), the.number, the.cap(NUMBER_CAP), Align.RIGHT)
            )
        if is_live and glance.phase in (Phase.READY, Phase.HOLD):
            items.extend(_mark_labels(slow, the, self._marks(slow)))
        footer = self.notice or (TYPING_FOOTER if glance.is_typed else self.keys)
        cap = the.cap(KEYS_CAP)
        items.append(Words(footer, the.keys, cap, Align.CENTRE, is_quiet=True, is_bold=False))
        self._items = frozenset(
            item for item in items if not isinstance(item, Words) or item.text
        )
        return self._items

    def _own_stale(self, glance: Glance, now_s: float) -> Glance:
        """Call the force stale by the screen's own clock when no newer glance comes at all."""
        if glance is not self._last:
            self._last, self._newer_at_s = glance, now_s
        if now_s - self._newer_at_s > SILENT_S and not glance.stale:
            return replace(glance, stale=True)
        return glance

    def _renew(self, glance: Glance, size: tuple[float, float], now_s: float) -> None:
        """Take over the glance for digits and texts when their time has come."""
        last = self._slow
        is_other = last is None or size != self._size or _key(last) != _key(glance)
        self._size = size
        if is_other or now_s - self._quick_at_s >= FORCE_DIGITS_S - 1e-9:
            self._quick, self._quick_at_s = glance, now_s
        if is_other or now_s - self._slow_at_s >= TEXT_S - 1e-9:
            self._slow, self._slow_at_s = glance, now_s
        state = say.state_of(glance)
        if state is not self._state and (is_other or now_s - self._state_at_s >= TEXT_S - 1e-9):
            self._state, self._state_at_s = state, now_s

    def _scale(self, glance: Glance) -> None:
        """Choose the force at the lane's end; it grows in steps and shrinks between reps."""
        low, high = say.edges_N(glance)
        edge = high if high is not None else low
        if edge is not None:
            least = edge / MARK_AT
        else:
            least = FIRST_FULL_KG * NEWTONS_PER_UNIT[ForceUnit.KG]
        if glance.phase in (Phase.REST, Phase.COUNT_IN, Phase.WAITING):
            self._full_N = 0.0
        largest = max(glance.peak_N or 0.0, glance.force_N or 0.0) * ROOM
        self._full_N = max(self._full_N, least)
        if largest > self._full_N:
            self._full_N = _round_up(largest)

    def _live(self, glance: Glance, the: Frame) -> Live:
        if glance.phase in (Phase.WAITING, Phase.REST) or glance.is_typed:
            return Live(full_N=self._full_N)
        if glance.phase is Phase.COUNT_IN:
            return Live(trace_box=the.trace, trace=glance.trace, full_N=self._full_N)
        is_late = glance.phase is Phase.RESULT
        marks = self._marks(glance)
        lane = the.late_lane if is_late else the.lane
        return Live(
            marks=marks,
            lane=self._lane(glance, lane, marks, is_late=is_late),
            bricks=self._bricks(glance, the.late_bricks if is_late else the.bricks),
            trace_box=None if is_late else the.trace,
            trace=EMPTY_TRACE if is_late else glance.trace,
            trace_s=TRACE_S,
            full_N=self._full_N,
        )

    def _bricks(self, glance: Glance, row: Box) -> tuple[Brick, ...]:
        """Lay the bricks, or leave them as they are where nothing has changed."""
        over_s = min(glance.elapsed_s, glance.hold_s or 0.0)
        made_of = (over_s, glance.hold_s, glance.bricks, glance.phase, row)
        if made_of != self._bricks_of:
            self._bricks_of, self._laid = made_of, _bricks(glance, row)
        return self._laid

    def _lane(
        self, glance: Glance, box: Box, marks: tuple[float, ...], *, is_late: bool
    ) -> Lane:
        force_N, state = glance.force_N, self._state
        if is_late:
            force_N = glance.peak_N
            state = say.state_of(replace(glance, force_N=force_N, stale=False))
        # without a reading the hatch fills the lane: there is no edge to be seen anywhere
        share = 1.0 if state is State.STALE else self._share(force_N or 0.0)
        return Lane(
            box=box,
            share=share,
            peak=None if glance.peak_N is None else self._share(glance.peak_N),
            marks=marks,
            state=state,
            edge=self._edge(glance.rise) if is_late else (),
        )

    def _marks(self, glance: Glance) -> tuple[float, ...]:
        return tuple(self._share(edge) for edge in say.edges_N(glance) if edge is not None)

    def _share(self, force_N: float) -> float:
        return min(1.0, max(0.0, force_N / self._full_N))

    def _edge(self, rise: Trace) -> tuple[tuple[float, float], ...]:
        """Turn the first half second of a rise into points of the leading edge."""
        if len(rise.time_s) < 2:
            return ()
        down = np.linspace(0.0, 1.0, RISE_POINTS)
        force_N = np.interp(down * RISE_S, rise.time_s, rise.force_N)
        along = np.clip(force_N / self._full_N, 0.0, 1.0)
        return tuple(zip(down.tolist(), along.tolist(), strict=True))


def _key(glance: Glance) -> tuple[object, ...]:
    """List what shows at once when it changes."""
    return (
        glance.phase,
        glance.stale,
        glance.unit,
        glance.athlete,
        glance.following,
        glance.exercise,
        glance.hand,
        glance.trouble is None,
        glance.entry,
        glance.question,
    )


def _round_up(force_N: float) -> float:
    """Find the next step of the scale above a force."""
    power = 10.0 ** math.floor(math.log10(force_N))
    return next(step * power for step in STEPS if step * power >= force_N * (1.0 - 1e-12))


def _bricks(glance: Glance, row: Box) -> tuple[Brick, ...]:
    """Lay one brick a prescribed second, with how much of it is over and how much was good."""
    number = math.ceil(glance.hold_s or 0.0)
    bricks = []
    for index, box in enumerate(brick_row(row, number)):
        over = min(1.0, max(0.0, glance.elapsed_s - index))
        if glance.phase is Phase.RESULT:
            over = 1.0
        good = glance.bricks[index] if index < len(glance.bricks) else 0.0
        bricks.append(Brick(box, min(max(good, 0.0), over), over))
    return tuple(bricks)


def _header(glance: Glance, the: Frame) -> list[Item]:
    cap = the.cap(NAME_CAP)
    return [
        Words(glance.athlete, the.name, cap),
        Words(say.punch_text(glance), the.punch, cap, Align.CENTRE, is_bold=False),
        Words(say.rep_text(glance), the.rep, cap, Align.RIGHT, is_bold=False),
    ]


def _beside_number(glance: Glance, the: Frame, caption: str, beside: str) -> list[Item]:
    return [
        Words(caption, the.caption, the.cap(SMALL_CAP), is_quiet=True, is_bold=False),
        Words(say.unit_text(glance.unit), the.unit, the.cap(0.10)),
        Words(beside, the.beside, the.cap(0.055), lines=2),
        Words(
            say.doubt_text(glance), the.doubt, the.cap(SMALL_CAP), Align.RIGHT, is_bold=False
        ),
    ]


def _mark_labels(glance: Glance, the: Frame, marks: tuple[float, ...]) -> list[Item]:
    """Put the force at each mark under it; the edges of a band read away from each other."""
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
        *_header(glance, the),
        *_beside_number(glance, the, "now", say.aim_text(glance)),
        Words(say.ready_text(glance), the.standing, the.cap(STANDING_CAP)),
        Words(say.remark_text(glance), the.labels, the.cap(LABEL_CAP), is_quiet=True),
    ]


def _hold(glance: Glance, the: Frame, state: State) -> list[Item]:
    text = say.standing_text(glance, state)
    if glance.trouble is not None:
        text = say.trouble_text(glance)
    return [
        *_header(glance, the),
        *_beside_number(glance, the, "now", say.seconds_text(glance)),
        Words(text, the.standing, the.cap(STANDING_CAP)),
        Words(say.peak_text(glance), the.peak_label, the.cap(LABEL_CAP), is_bold=False),
    ]


def _result(glance: Glance, the: Frame, _state: State) -> list[Item]:
    snap = {True: "snap", False: "no snap", None: ""}[glance.is_snap]
    small = the.cap(0.031)
    return [
        *_header(glance, the),
        *_beside_number(glance, the, "held" if glance.is_typed else "peak", snap),
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
        Words(
            "" if glance.is_typed else "the first half second of your push",
            the.late_labels,
            small,
            is_bold=False,
        ),
        Words(say.quality_text(glance), the.late_quality, small, Align.RIGHT, is_bold=False),
    ]


def _typing(glance: Glance, the: Frame, _state: State) -> list[Item]:
    """Ask for what a plain scale showed."""
    return [
        *_header(glance, the),
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
        *_header(glance, the),
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


def _waiting(glance: Glance, the: Frame, _state: State) -> list[Item]:
    what, advice = "Waiting for the board.", "Plug it in; I go on by myself."
    if glance.trouble is not None:
        what, advice = glance.trouble.what, glance.trouble.advice
    return [
        Words(what, the.box(0.08, 0.50), the.cap(0.14), lines=3),
        Words(advice, the.box(0.54, 0.82), the.cap(0.075), lines=3, is_bold=False),
        Words(
            say.since_text(glance),
            the.box(0.86, 0.93),
            the.cap(SMALL_CAP),
            is_quiet=True,
            is_bold=False,
        ),
    ]


PHASES: dict[Phase, Callable[[Glance, Frame, State], list[Item]]] = {
    Phase.WAITING: _waiting,
    Phase.READY: _ready,
    Phase.COUNT_IN: _count_in,
    Phase.HOLD: _hold,
    Phase.RESULT: _result,
    Phase.REST: _rest,
}
"""What stands on the wall in each phase."""

TYPED_PHASES = {Phase.READY: _typed_ready, Phase.HOLD: _typed_hold}
"""What stands there instead where the coach types the force: the seconds, while it is held."""
