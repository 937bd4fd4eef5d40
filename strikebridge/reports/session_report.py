"""The report of a session: what stood out, what to mend, what was left out; then every rep."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from strikebridge.club.exercise import Way
from strikebridge.club.selection import Like, like_of
from strikebridge.club.training import Closing
from strikebridge.measures import NEW_BEST, against_best, difference, largest
from strikebridge.reports.findings import Findings, beside
from strikebridge.reports.method import care, footer_line
from strikebridge.reports.naming import capital, punch_words
from strikebridge.reports.pictures import RepBar, bars, curves
from strikebridge.reports.sheet import Align, Column, Item, Part, Pictures, Sheet, Table, Words
from strikebridge.samples import Effort

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from strikebridge.club.training import ClosedTurn, RepRecord, SessionRecord
    from strikebridge.glance import Trace
    from strikebridge.reports.drawing import Drawing
    from strikebridge.reports.sheet import Block
    from strikebridge.reports.standing import Club
    from strikebridge.reports.wording import Wording
    from strikebridge.samples import MeasureValue

PICTURE_PT = (252.0, 82.0)
BARS_SHARE = 0.42  # of the width, where curves stand beside them
MOST_CURVES = 6  # laid over each other; more cannot be told apart
OFTEN = 2  # reps with the same fault, before it is called one to mend
SHOWN = ("peak_force", "hold_quality", "held_time", "steadiness")
"""Measures of the table; of a typed rep the force of the hold stands in place of the peak."""


@dataclass(frozen=True, slots=True)
class Told:
    """What a session report is made of.

    Attributes:
        session: the session.
        reps: its reps, those taken back among them.
        closed: turns that are over without a rep.
        before: best force on record before the session, by what the maximal reps share.
        curves: turn -> curve of the rep that counts, time counted from its onset.
    """

    session: SessionRecord
    reps: Sequence[RepRecord]
    closed: Sequence[ClosedTurn] = ()
    before: Mapping[Like, MeasureValue] = field(default_factory=dict)
    curves: Mapping[int, Trace] = field(default_factory=dict)


def session_report(told: Told, club: Club, wording: Wording, today: date) -> Sheet:
    """Make the report of a session.

    Args:
        told: what is known.
        club: who is who.
        wording: language and unit.
        today: day it is made.

    Returns:
        As many pages as it takes.
    """
    say, count = wording.language.say, wording.language.count
    kept = _kept(told.reps)
    parts = [Part("", (beside(_findings(told, kept, club, wording), wording, "session"),))]
    for athlete in told.session.athletes:
        own = [rep for rep in told.reps if rep.athlete == athlete]
        if own:
            name = club.athletes[athlete].name
            parts.append(Part(name, tuple(_of_athlete(told, own, club, wording))))
    session = told.session
    subtitle = [
        wording.day(session.started_at),
        *([session.group] if session.group else []),
        count("session.athletes", len(session.athletes)),
        say("session.reps", done=sum(rep.is_kept for rep in told.reps), planned=session.turns),
    ]
    return Sheet(
        language=wording.language.key,
        title=say("session.title", plan=session.plan),
        subtitle=" · ".join(subtitle),
        parts=tuple(parts),
        foot=(Item(say("foot.method"), say("session.method")), *care(wording)),
        footer_line=footer_line(wording, say("session.kind"), today),
        is_one_page=False,
    )


def _findings(told: Told, kept: Sequence[RepRecord], club: Club, wording: Wording) -> Findings:
    """Say what stood out, what cannot be told, and what to mend."""
    say = wording.language.say
    real, unsure = [], []
    for like, reps in _by_like(kept).items():
        name = club.athletes[like.athlete].name
        best, before = _best(reps), told.before.get(like)
        stands = against_best(best, before)
        if best is None or before is None or not stands:
            continue
        lead = f"{name}, {punch_words(like.exercise, like.hand, club, wording)}:"
        gain_N, u95_N = difference(best, before)
        words = wording.force(gain_N, u95_N, is_signed=True)
        if stands == NEW_BEST:
            real.append(Item(lead, say("session.new_best", change=words)))
        else:
            unsure.append(Item(lead, say("session.level", change=words)))
    pain = [(one.athlete, one.exercise) for one in told.closed if one.why is Closing.PAIN]
    for athlete, exercise in dict.fromkeys(pain):
        lead = f"{club.athletes[athlete].name}, {punch_words(exercise, '', club, wording)}:"
        real.insert(0, Item(lead, say("session.pain")))
    return Findings(tuple(real), tuple(unsure), tuple(_to_mend(kept, club, wording)))


def _to_mend(kept: Sequence[RepRecord], club: Club, wording: Wording) -> list[Item]:
    """Give each athlete one thing to mend, the one seen most often."""
    items = []
    for athlete in dict.fromkeys(rep.athlete for rep in kept):
        own = [rep for rep in kept if rep.athlete == athlete]
        faults = Counter(rep.faults[0] for rep in own if rep.faults)  # the weightiest of each
        fault, times = max(faults.items(), key=lambda one: one[1], default=("", 0))
        if times < OFTEN:
            continue
        say = wording.language.say
        said = wording.language.named("mend", fault)
        words = say("session.mend", fault=said, times=times, reps=len(own))
        items.append(Item(f"{club.athletes[athlete].name}:", words))
    return items


def _of_athlete(
    told: Told, own: Sequence[RepRecord], club: Club, wording: Wording
) -> list[Block]:
    """Write what one athlete did."""
    kept = _kept(own)
    blocks: list[Block] = []
    by_like = _by_like(kept)
    drawings: list[Drawing] = []
    for like, reps in by_like.items():
        title = _title(like, club, wording)
        drawings += _drawings(told, reps, title, wording)
    if drawings:
        blocks.append(Pictures("", tuple(drawings), wording.language.say("session.caption")))
    if kept:
        blocks.append(_table([rep for reps in by_like.values() for rep in reps], club, wording))
    notes = _notes(told, own, club, wording)
    if notes:
        blocks.append(Words("", tuple(Item("", note) for note in notes)))
    return blocks


def _drawings(
    told: Told, reps: Sequence[RepRecord], title: str, wording: Wording
) -> tuple[Drawing, ...]:
    """Draw the reps of one punch as bars, and their curves over each other, in one row."""
    rows = []
    for rep in reps:
        force = rep.force
        value = None if force is None else force.value
        u95 = None if force is None else force.u95
        rows.append(RepBar(_rep_words(rep), value, u95))
    if all(row.value_N is None for row in rows):
        return ()
    traces = [
        (_rep_words(rep), told.curves[rep.turn]) for rep in reps if rep.turn in told.curves
    ]
    if not traces:
        return (bars(rows, title, wording, *PICTURE_PT),)
    width_pt, height_pt = PICTURE_PT
    left_pt = BARS_SHARE * 2.0 * width_pt
    return (
        bars(rows, title, wording, left_pt, height_pt),
        curves(traces[-MOST_CURVES:], title, wording, 2.0 * width_pt - left_pt, height_pt),
    )


def _table(kept: Sequence[RepRecord], club: Club, wording: Wording) -> Table:
    say, named = wording.language.say, wording.language.named
    columns: tuple[Column, ...] = (
        Column(say("table.exercise"), 2.6, Align.LEFT),
        Column(say("session.rep"), 0.7, Align.LEFT),
        Column(say("session.force"), 2.1),
        Column(say("session.quality"), 1.5),
        Column(say("session.held"), 1.9),
        Column(say("session.steadiness"), 1.9),
        Column(say("session.rise"), 1.9, Align.LEFT),
        Column(say("session.hold"), 1.9, Align.LEFT),
    )
    has_cues = any(rep.cue for rep in kept)
    if has_cues:
        columns = (*columns, Column(say("session.cue"), 1.6, Align.LEFT))
    rows = []
    reasons: dict[str, str] = {}
    for rep in kept:
        cells = []
        for name in SHOWN:
            value = rep.force if name == "peak_force" else rep.measures.get(name)
            if value is not None and value.value is None and value.reason:
                reasons.setdefault(name, wording.language.reason(value.reason))
            cells.append(wording.measure(value, most=2 if name == "held_time" else 1))
        rows.append(
            (
                _title(like_of(rep), club, wording),
                _rep_words(rep),
                *cells,
                named("rise", rep.rise),
                named("hold_word", rep.hold),
                *((rep.cue,) if has_cues else ()),
            )
        )
    notes = tuple(
        say("session.withheld", measure=say(f"session.measure.{name}"), reason=reason)
        for name, reason in reasons.items()
    )
    return Table("", columns, tuple(rows), notes)


def _notes(told: Told, own: Sequence[RepRecord], club: Club, wording: Wording) -> list[str]:
    """Say what was timed, taken back and left out."""
    count = wording.language.count
    timed = Counter(rep.exercise for rep in own if rep.is_kept and rep.way is Way.TIMED)
    notes = [
        count("session.timed", n, exercise=capital(punch_words(key, "", club, wording)))
        for key, n in timed.items()
    ]
    taken_back = sum(not rep.is_kept for rep in own)
    if taken_back:
        notes.append(count("session.taken_back", taken_back))
    done = {rep.turn for rep in own if rep.is_kept}
    mine = [one for one in told.closed if one.athlete == own[0].athlete]
    again = {rep.turn for rep in own if not rep.is_kept}  # said above
    closed = Counter(
        one.why
        for one in mine
        if one.turn not in done and not (one.why is Closing.UNDONE and one.turn in again)
    )
    for why, n in closed.items():
        notes.append(count(f"session.closed.{why.value.replace(' ', '_')}", n))
    return notes


def _kept(reps: Sequence[RepRecord]) -> list[RepRecord]:
    """Give the reps that count and have a force, in the order of their turns."""
    kept = [rep for rep in reps if rep.is_kept and rep.way is not Way.TIMED]
    return sorted(kept, key=lambda rep: rep.turn)


def _by_like(reps: Sequence[RepRecord]) -> dict[Like, list[RepRecord]]:
    """Lay reps together that may be compared; held back, a push is another test."""
    found: dict[Like, list[RepRecord]] = {}
    for rep in reps:
        found.setdefault(like_of(rep), []).append(rep)
    return found


def _title(like: Like, club: Club, wording: Wording) -> str:
    """Name exercise and hand, and say where less than all was asked for."""
    words = capital(punch_words(like.exercise, like.hand, club, wording))
    if like.effort is Effort.MAXIMAL:
        return words
    return wording.language.say("punch.submaximal", exercise=words)


def _best(reps: Sequence[RepRecord]) -> MeasureValue | None:
    """Give the largest force of the maximal ones among them, None where none was measured."""
    return largest(rep.force for rep in reps if rep.prescription.effort is Effort.MAXIMAL)


def _rep_words(rep: RepRecord) -> str:
    return f"{rep.set_number}.{rep.rep_number}"
