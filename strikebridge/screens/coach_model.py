"""What the coach's page shows, decided without a window.

On the left the order; on the right, from the top, what is under way, the reps of the set at a
glance, their curves laid over each other from the onset, and the cues with their keys. A rep
that was taken back stays, in words; its curve is gone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.samples import Phase
from strikebridge.screens import rig_parts as parts
from strikebridge.screens import wall_words as say
from strikebridge.screens.figure import (
    Bar,
    Ink,
    Line,
    Page,
    PageItem,
    Panel,
    Stroke,
    with_words,
)
from strikebridge.screens.items import Align, Box, Number, Words
from strikebridge.screens.look import State
from strikebridge.screens.review_model import curve_of
from strikebridge.screens.review_sheet import Plot, nice_step, spread
from strikebridge.screens.rig_layout import KEYS_CAP, RigFrame
from strikebridge.screens.session_wall import asked
from strikebridge.screens.wall_layout import frame
from strikebridge.session.group_table import Stage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.desk import Attempt, Desk, Place
    from strikebridge.samples import Glance
    from strikebridge.screens.review_model import Curve
    from strikebridge.screens.session_wall import Question
    from strikebridge.units import ForceUnit

PLACES_SHOWN = 8
REPS_SHOWN = 5
CUES_SHOWN = 9  # one digit key each
ROW_CAP = 0.0215
HEAD_CAP = 0.0175
LEFT = 0.255  # of the width: the order
RIGHT = 0.275
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
HEADROOM = 1.08
FROM_S = -0.2


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
        if self.question is not None:
            words = (one for one in asked(self.question, frame(*size)))
            return with_words((*(one for one in words if isinstance(one, Words)), footer))
        items = [*_order(glance, desk, the), *_now(glance, the)]
        items += _reps(desk.attempts, the, glance.unit)
        made_of = (size, glance.unit, glance.hold_s, *map(id, desk.attempts))
        if made_of != self._made_of:
            self._made_of, self._attempts = made_of, desk.attempts
            self._figure = _curves(desk.attempts, the, glance)
        items += self._figure
        items += _cues(desk.cues, the)
        return with_words((*items, footer))


def _order(glance: Glance, desk: Desk, the: RigFrame) -> list[PageItem]:
    """Say who comes when; as many as there is room for, from whose turn it is."""
    head = the.box(0.012, 0.050, 0.0, LEFT)
    items: list[PageItem] = [parts.plain("order", head, the.cap(HEAD_CAP), is_quiet=True)]
    first = next((i for i, place in enumerate(desk.order) if place.is_now), 0)
    shown = desk.order[first : first + PLACES_SHOWN]
    high = 0.087
    for index, place in enumerate(shown):
        items += _place(place, the, 0.055 + index * high, high)
    if not shown:
        name = the.box(0.055, 0.110, 0.012, LEFT)
        items.append(parts.bold(glance.athlete or "Free reps", name, the.cap(0.030)))
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
    sentence = (
        say.trouble_text(glance) or advice or glance.warning or glance.sentence or glance.remark
    )
    doubt = say.doubt_text(glance) if is_up else "now"
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
        parts.bold(say.punch_text(glance), the.box(0.055, 0.110, RIGHT, 0.70), the.cap(0.034)),
        parts.plain(sentence, the.box(0.115, 0.195, RIGHT, 0.70), the.cap(0.024), lines=2),
        Number(number, the.box(0.055, 0.150, 0.71, 0.93), the.cap(0.085)),
        parts.bold(unit_words, unit, the.cap(0.032)),
        parts.plain(doubt, under, the.cap(0.020), align=Align.RIGHT, is_quiet=True),
    ]


def _reps(attempts: Sequence[Attempt], the: RigFrame, unit: ForceUnit) -> list[PageItem]:
    """Set the last reps of the set under one another, the newest at the bottom."""
    columns = {
        "rep": (RIGHT, 0.310),
        f"peak, {unit.value}": (0.315, 0.445),
        "rise": (0.455, 0.565),
        "hold": (0.575, 0.695),
        "each second": (0.705, 0.835),
        "cue before it": (0.845, 1.0),
    }
    items: list[PageItem] = [
        parts.plain(name, the.box(0.212, 0.242, *span), the.cap(HEAD_CAP), is_quiet=True)
        for name, span in columns.items()
    ]
    spans = list(columns.values())
    high = 0.048
    shown = attempts[-REPS_SHOWN:]
    if not shown:
        words = "The reps of this set come here, one line each."
        empty = the.box(0.250, 0.290, RIGHT, 1.0)
        items.append(parts.plain(words, empty, the.cap(ROW_CAP), is_quiet=True))
    for index, attempt in enumerate(shown):
        top = 0.246 + index * high
        bottom = top + 0.88 * high
        rep, verdict = attempt.rep, attempt.rep.verdict
        rise = verdict.rise if attempt.is_kept else "taken back"
        texts = (
            str(attempt.number),
            curve_of(rep, unit).value_words,
            rise,
            verdict.hold if attempt.is_kept else "",
        )
        is_last = index == len(shown) - 1
        for text, span in zip(texts, spans, strict=False):
            make = parts.bold if is_last else parts.plain
            items.append(make(text, the.box(top, bottom, *span), the.cap(ROW_CAP)))
        items += _bricks(rep.bricks, the.box(top + 0.18 * high, top + 0.72 * high, *spans[4]))
        cue = the.box(top, bottom, *spans[5])
        items.append(parts.plain(attempt.cue, cue, the.cap(ROW_CAP), lines=2))
    return items


def _bricks(shares: Sequence[float], row: Box) -> list[PageItem]:
    """Draw one bar a second, filled as far as the force was where it should be."""
    if not shares:
        return []
    pitch = row.w / max(5, len(shares))
    return [
        Bar(Box(row.x + i * pitch, row.y, 0.86 * pitch, row.h).on_pixels(), share, State.THERE)
        for i, share in enumerate(shares)
    ]


def _curves(attempts: Sequence[Attempt], the: RigFrame, glance: Glance) -> list[PageItem]:
    """Lay the curves that count over each other, the newest strong, named at the right."""
    ground = the.box(0.520, 0.850, RIGHT + 0.035, 0.905)
    kept = [attempt for attempt in attempts if attempt.is_kept]
    curves = [(a.number, curve_of(a.rep, glance.unit)) for a in kept[-PLACES_SHOWN:]]
    if not curves:
        return []
    head = the.box(0.486, 0.516, RIGHT, 1.0)
    which = f"the last {len(curves)}" if len(kept) > len(curves) else "all that count"
    words = f"{which}, from the onset, {glance.unit.value} over seconds; the newest is bold"
    items: list[PageItem] = [
        Panel(ground),
        parts.plain(words, head, the.cap(HEAD_CAP), is_quiet=True),
    ]
    highest = max(curve.peak.force for _, curve in curves)
    longest_s = max(float(curve.time_s[-1]) for _, curve in curves)
    plot = Plot(ground, FROM_S, longest_s, 0.0, HEADROOM * max(highest, 1e-9))
    items += _axes(plot, the, glance.hold_s)
    for number, curve in curves:
        ink = Ink.STRONG if number == curves[-1][0] else Ink.QUIET
        points = plot.points(curve.time_s, curve.force)
        items.append(Line(tuple(map(tuple, points.tolist())), ink))
    items += _names(curves, plot, the)
    return items


def _axes(plot: Plot, the: RigFrame, hold_s: float | None) -> list[PageItem]:
    box, items = plot.box, list[PageItem]()
    cap_px = the.cap(HEAD_CAP)
    step = nice_step(plot.high, 4)
    for k in range(int(plot.high / step) + 1):
        y = plot.y(k * step)
        items.append(Stroke(box.x - 0.2 * cap_px, y, box.x, y, Ink.QUIET))
        room = the.box(0.0, 0.030, RIGHT, RIGHT + 0.030)
        label = Box(room.x, y - 0.5 * room.h, room.w, room.h)
        if label.y < box.y:
            continue  # the words above the curves are there
        items.append(
            parts.plain(f"{k * step:g}", label, cap_px, align=Align.RIGHT, is_quiet=True)
        )
    step_s = nice_step(plot.to_s - plot.from_s, 8)
    for k in range(int(plot.to_s / step_s) + 1):
        x = plot.x(k * step_s)
        items.append(Stroke(x, box.bottom, x, box.bottom + 0.4 * cap_px, Ink.QUIET))
        label = Box(x - 2.0 * cap_px, box.bottom + 0.5 * cap_px, 4.0 * cap_px, 1.6 * cap_px)
        items.append(
            parts.plain(f"{k * step_s:g}", label, cap_px, align=Align.CENTRE, is_quiet=True)
        )
    if hold_s is not None and hold_s < plot.to_s:
        x = plot.x(hold_s)
        items.append(Stroke(x, box.y, x, box.bottom, Ink.DASHED))
    return items


def _names(curves: Sequence[tuple[int, Curve]], plot: Plot, the: RigFrame) -> list[PageItem]:
    """Name each curve at the right, where it still stood at its height."""
    pitch, box = the.cap(0.034), plot.box
    ordered = sorted(curves, key=lambda one: -one[1].held_last.force)
    wanted = [plot.y(curve.held_last.force) for _, curve in ordered]
    places = spread(wanted, pitch, box.y + 0.5 * pitch, box.bottom - 0.5 * pitch)
    where = the.box(0.0, 1.0, 0.910, 1.0)
    items: list[PageItem] = []
    for (number, curve), y in zip(ordered, places, strict=True):
        label = Box(where.x, y - 0.5 * pitch, where.w, pitch)
        words = f"{number} {curve.fault_words}".strip()
        make = parts.bold if number == curves[-1][0] else parts.plain
        items.append(make(words, label, the.cap(HEAD_CAP)))
    return items


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
