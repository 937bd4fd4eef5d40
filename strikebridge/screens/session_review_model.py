"""What the review of a session shows, decided without a window: one page after the other.

The first page has everybody in a row each. Then comes a page for each exercise of each athlete:
its reps, their curves over each other, the best, and what the cues did. A cue is said to have
done no more than chance where that is so: after a poor rep the next is better by itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import Bar, Page, PageItem, with_words
from strikebridge.screens.items import Align, Number
from strikebridge.screens.look import State
from strikebridge.screens.rep_rows import (
    HEAD_CAP,
    RIGHT,
    ROW_CAP,
    RepRow,
    curves_over,
    rep_rows,
)
from strikebridge.screens.rig_layout import KEYS_CAP, RigFrame
from strikebridge.screens.session_review_words import (
    best_of_day,
    cue_words,
    force_words,
    holds,
    left_words,
    mend_words,
    pain_words,
    title,
    turns,
    work_words,
)
from strikebridge.screens.wall_words import DASHES
from strikebridge.units import ForceUnit, show_doubt, show_force

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.looking_back import AthleteDone, Kept, SessionDone, Work

REPS_SHOWN = 10
ROWS_SHOWN = 12
WORKS_SHOWN = 9
LEFT = 0.255
FOOTER = (
    "Space, PageDown: on      PageUp: back      N: next athlete      R: write a report      "
    "U: unit      D: dark or daylight      F11: full screen      B, Esc: leave"
)


class SessionReview:
    """Turn the pages of a session.

    Attributes:
        done: what was done.
        unit: the coach's unit.
        at: index of the page shown.
        is_fetching: True while the curves are not there yet.
        said: what is to be said in place of the keys, empty where nothing is.
    """

    def __init__(self, done: SessionDone, unit: ForceUnit) -> None:
        """Begin with the page of everybody.

        Args:
            done: what was done.
            unit: the coach's unit.
        """
        self.done = done
        self.unit = unit
        self.at = 0
        self.is_fetching = False
        self.said = ""
        self._places: list[tuple[int, int]] = [(-1, 0)]
        for index, person in enumerate(done.people):
            self._places += [(index, work) for work in range(max(1, len(person.work)))]

    @property
    def pages(self) -> int:
        """How many there are."""
        return len(self._places)

    def turn(self, step: int) -> bool:
        """Turn to another page.

        Args:
            step: +1 for on, -1 for back.

        Returns:
            False where there is none; the page stays.
        """
        if not 0 <= self.at + step < self.pages:
            return False
        self.at += step
        return True

    def next_athlete(self) -> None:
        """Turn to the first page of the next athlete, from the last one to everybody."""
        person = self._places[self.at][0]
        later = (i for i, (who, _) in enumerate(self._places) if who > person)
        self.at = next(later, 0)

    def page(self, size: tuple[float, float]) -> Page:
        """Decide the page shown.

        Args:
            size: width and height [px].

        Returns:
            What is to be painted.
        """
        the = RigFrame(*size)
        who, which = self._places[self.at]
        if who < 0:
            items = _everybody(self.done, the, self.unit)
        else:
            items = _athlete(self.done.people[who], which, the, self.unit)
            items += self._curves(who, which, the)
        words = f"page {self.at + 1} of {self.pages}"
        items += [
            parts.plain(
                words,
                the.box(0.012, 0.050, 0.86, 1.0),
                the.cap(HEAD_CAP),
                align=Align.RIGHT,
                is_quiet=True,
            ),
            parts.plain(
                self.said or FOOTER,
                the.keys,
                the.cap(KEYS_CAP),
                align=Align.CENTRE,
                is_quiet=not self.said,
            ),
        ]
        return with_words(tuple(items))

    def _curves(self, who: int, which: int, the: RigFrame) -> list[PageItem]:
        """Lay the curves of an exercise over each other, or say why there are none."""
        work = self.done.people[who].work
        if not work:
            return []
        reps = work[which].reps
        curves = [
            (number, one.rep)
            for number, one in enumerate(reps, start=1)
            if one.record.is_kept and one.rep is not None
        ]
        words = "There are no curves: the recording is not in the data folder."
        if self.is_fetching:
            words = "The curves are on their way out of the recording."
        if not curves:
            where = the.box(0.520, 0.560, RIGHT, 1.0)
            return [parts.plain(words, where, the.cap(ROW_CAP))]
        return curves_over(curves, the, self.unit, reps[0].record.prescription.hold_s)


def _everybody(done: SessionDone, the: RigFrame, unit: ForceUnit) -> list[PageItem]:
    started = done.record.started_at
    head = f"{done.record.plan}, {started:%d %B %Y, %H:%M}"
    items: list[PageItem] = [
        parts.plain(head, the.box(0.012, 0.050, 0.0, 0.84), the.cap(0.022), is_quiet=True),
        parts.bold(
            f"{done.done} of {done.planned} holds done",
            the.box(0.065, 0.165),
            the.cap(0.058),
        ),
        parts.plain(
            left_words(done), the.box(0.170, 0.245, 0.0, 0.59), the.cap(0.022), lines=2
        ),
    ]
    spans = {
        "athlete": (0.0, 0.215),
        "holds": (0.225, 0.300),
        "best today": (0.310, 0.610),
        "to mend": (0.620, 0.800),
        "cues": (0.810, 1.0),
    }
    items += [
        parts.plain(name, the.box(0.255, 0.285, *span), the.cap(HEAD_CAP), is_quiet=True)
        for name, span in spans.items()
    ]
    high = (0.945 - 0.290) / ROWS_SHOWN
    shown = done.people[:ROWS_SHOWN]
    for index, person in enumerate(shown):
        top = 0.290 + index * high
        bottom = top + 0.9 * high
        name = the.box(top, bottom, *spans["athlete"])
        items.append(parts.bold(person.name, name, the.cap(0.024), lines=2))
        items += [
            parts.plain(text, the.box(top, bottom, *span), the.cap(ROW_CAP), lines=2)
            for text, span in _cells(person, spans, unit)
        ]
    more = len(done.people) - len(shown)
    if more > 0:
        where = the.box(0.215, 0.250, 0.60, 1.0)
        words = f"and {more} more on the next pages"
        items.append(parts.plain(words, where, the.cap(HEAD_CAP)))
    return items


def _cells(
    person: AthleteDone, spans: Mapping[str, tuple[float, float]], unit: ForceUnit
) -> list[tuple[str, tuple[float, float]]]:
    """Say what an athlete did, and where in the row each of it stands."""
    mend, cues = spans["to mend"], spans["cues"]
    cells = [
        (f"{person.done} of {person.planned}", spans["holds"]),
        (best_of_day(person, unit), spans["best today"]),
    ]
    if person.stopped:  # needs to be read: the cues stand on the athlete's own pages as well
        return [*cells, (pain_words(person), (mend[0], cues[1]))]
    given = ", ".join(dict.fromkeys(s.effect.cue for w in person.work for s in w.cues))
    return [*cells, (mend_words(person), mend), (given, cues)]


def _athlete(person: AthleteDone, which: int, the: RigFrame, unit: ForceUnit) -> list[PageItem]:
    head = f"{person.name}: {person.done} of {person.planned} holds"
    if person.timed:
        head += f", {turns(person.timed)} timed"
    items = [
        parts.plain(head, the.box(0.012, 0.050, RIGHT, 0.84), the.cap(0.022)),
        parts.bold(person.name, the.box(0.012, 0.080, 0.0, LEFT), the.cap(0.030), lines=2),
    ]
    if not person.work:
        words = "Nothing of this athlete was measured in this session."
        where = the.box(0.100, 0.160, RIGHT, 1.0)
        return [*items, parts.plain(words, where, the.cap(0.030))]
    return [*items, *_works(person, which, the, unit), *_one(person.work[which], the, unit)]


def _works(person: AthleteDone, which: int, the: RigFrame, unit: ForceUnit) -> list[PageItem]:
    """List the exercises, the one shown marked."""
    first = max(0, min(which - WORKS_SHOWN // 2, len(person.work) - WORKS_SHOWN))
    shown = person.work[first : first + WORKS_SHOWN]
    high = 0.088
    items: list[PageItem] = []
    for index, work in enumerate(shown):
        top = 0.090 + index * high
        middle, bottom = top + 0.54 * high, top + 0.94 * high
        is_shown = first + index == which
        if is_shown:
            items.append(Bar(the.box(top, bottom, 0.0, 0.006).on_pixels(), 1.0, State.PUSH))
        make = parts.bold if is_shown else parts.plain
        words = f"{holds(len(work.kept))}, best {force_words(work.best, unit)} {unit.value}"
        name, where = the.box(top, middle, 0.012, LEFT), the.box(middle, bottom, 0.012, LEFT)
        items.append(make(title(work), name, the.cap(0.024), lines=2))
        items.append(parts.plain(words, where, the.cap(HEAD_CAP), is_quiet=True))
    more = len(person.work) - len(shown)
    if more > 0:
        where = the.box(0.890, 0.925, 0.012, LEFT)
        words = f"and {more} more"
        items.append(parts.plain(words, where, the.cap(HEAD_CAP), is_quiet=True))
    return items


def _one(work: Work, the: RigFrame, unit: ForceUnit) -> list[PageItem]:
    """Show one exercise: best, reps, curves, cues."""
    best = work.best
    digits, doubt = DASHES, "no force that counts"
    if best is not None and best.value is not None:
        digits = show_force(best.value, best.u95, unit)
        doubt = "± not known" if best.u95 is None else f"± {show_doubt(best.u95, unit)}"
    rows = [_row(number, one, unit) for number, one in enumerate(work.reps, start=1)]
    items: list[PageItem] = [
        parts.bold(title(work), the.box(0.055, 0.112, RIGHT, 0.70), the.cap(0.034), lines=2),
        parts.plain(
            work_words(work), the.box(0.115, 0.195, RIGHT, 0.70), the.cap(0.022), lines=2
        ),
        Number(digits, the.box(0.055, 0.150, 0.71, 0.93), the.cap(0.085)),
        parts.bold(unit.value, the.box(0.100, 0.150, 0.94, 1.0), the.cap(0.032)),
        parts.plain(
            ", ".join(part for part in (f"best {doubt}", work.best_words) if part),
            the.box(0.155, 0.195, 0.71, 1.0),
            the.cap(0.020),
            align=Align.RIGHT,
            is_quiet=True,
        ),
        *rep_rows(rows[-REPS_SHOWN:], the, unit),
    ]
    said = "   ".join(cue_words(one, unit) for one in work.cues)
    items.append(
        parts.plain(said, the.box(0.892, 0.955, RIGHT, 1.0), the.cap(ROW_CAP), lines=3)
    )
    return items


def _row(number: int, one: Kept, unit: ForceUnit) -> RepRow:
    record = one.record
    return RepRow(
        number=number,
        peak=force_words(record.force, unit),
        rise=record.rise if record.is_kept else "taken back",
        hold=record.hold if record.is_kept else "",
        bricks=() if one.rep is None else one.rep.bricks,
        cue=record.cue,
    )
