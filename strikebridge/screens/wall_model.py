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

from strikebridge.glance import EMPTY_TRACE, Phase
from strikebridge.screens import wall_words as say
from strikebridge.screens.items import (
    Align,
    Box,
    Brick,
    Item,
    Lane,
    Live,
    Number,
    Picture,
    Words,
)
from strikebridge.screens.keys import TYPING_FOOTER
from strikebridge.screens.look import State
from strikebridge.screens.session_wall import SESSION, asked
from strikebridge.screens.wall_layout import KEYS_CAP, NUMBER_CAP, Frame, brick_row, frame
from strikebridge.screens.wall_phases import FREE, mark_labels
from strikebridge.screens.wall_scene import (
    LATE,
    WITH_LANE,
    WITH_MARKS,
    WITH_NUMBER,
    WITH_TRACE,
    Scene,
    scene_of,
)
from strikebridge.units import NEWTONS_PER_UNIT, ForceUnit

if TYPE_CHECKING:
    from strikebridge.glance import Glance, Trace
    from strikebridge.screens.session_wall import Question

FORCE_DIGITS_S = 0.1
FAST_SHARE = 0.03  # of the mark: what the force moves by before a way to it is renewed
TEXT_S = 0.2
SILENT_S = 1.0  # no newer glance for so long: the screen itself calls the force stale
TRACE_S = 6.0
RISE_S = 0.5
RISE_POINTS = 60
MARK_AT = 0.72  # where along the lane the mark stands
ROOM = 1.06  # the block's end keeps this far from the lane's end
FIRST_FULL_KG = 50.0
STEPS = (1.0, 1.5, 2.0, 3.0, 5.0, 7.0, 10.0)


class WallModel:
    """Decide what stands on the wall and where.

    Attributes:
        keys: what the footer says of the keys.
        notice: shown in place of the keys, empty for none.
        question: what the coach is asked, in place of everything else; None for nothing.
        has_notes: False where the coach reads what is on record of an athlete elsewhere.
    """

    def __init__(self, keys: str = "") -> None:
        """Begin with nothing shown.

        Args:
            keys: every key and what it does, one line.
        """
        self.keys = keys
        self.notice = ""
        self.question: Question | None = None
        self.has_notes = True
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
        scene = scene_of(glance, is_asked=self.question is not None)
        made_of = (
            id(quick),
            id(slow),
            scene,
            self._size,
            self._state,
            self._full_N,
            self.notice,
            self.question,
            self.keys,
        )
        if made_of == self._made_of:
            return self._items
        self._made_of = made_of
        items = self._fill(scene, _in_step(slow, quick) if scene is Scene.HOLD else slow, the)
        if scene in WITH_NUMBER:
            items.append(
                Number(say.number_text(quick), the.number, the.cap(NUMBER_CAP), Align.RIGHT)
            )
        if scene in WITH_MARKS:
            items.extend(mark_labels(slow, the, self._marks(slow)))
        footer = self.notice or glance.told or (TYPING_FOOTER if glance.is_typed else self.keys)
        cap = the.cap(KEYS_CAP)
        items.append(Words(footer, the.keys, cap, Align.CENTRE, is_quiet=True, is_bold=False))
        self._items = frozenset(
            item for item in items if not isinstance(item, Words) or item.text
        )
        return self._items

    def _fill(self, scene: Scene, glance: Glance, the: Frame) -> list[Item]:
        if self.question is not None:
            return asked(self.question, the)
        if scene in SESSION:
            return SESSION[scene](glance, the, self._state, has_notes=self.has_notes)
        return FREE[scene](glance, the, self._state)

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
        scene = scene_of(glance, is_asked=self.question is not None)
        if glance.is_typed or scene not in WITH_LANE | WITH_TRACE:
            return Live(full_N=self._full_N)
        if scene not in WITH_LANE:
            return Live(trace_box=the.trace, trace=glance.trace, full_N=self._full_N)
        is_late = scene in LATE
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


def _in_step(slow: Glance, quick: Glance) -> Glance:
    """Let the peak never be below the number beside it, nor a way belong to one long passed.

    Texts are renewed more seldom than the number, and a punch rises by much in that time.
    """
    if quick is slow or quick.force_N is None or slow.force_N is None:
        return slow
    edge_N, _ = say.edges_N(slow)
    is_fast = abs(quick.force_N - slow.force_N) > FAST_SHARE * (edge_N or math.inf)
    if slow.peak_N is not None:
        slow = replace(slow, peak_N=max(slow.peak_N, quick.force_N))
    return replace(slow, force_N=quick.force_N) if is_fast else slow


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
        glance.stage,
        glance.turn,
        glance.advice,
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
