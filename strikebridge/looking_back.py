"""What was done in one session, put together to be looked at: reps, bests, cues, curves.

A best counts as new only where the kit can tell. A cue is judged by all reps of the last twelve
weeks that are alike, since one session seldom has enough of them.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import msgspec

from strikebridge.club.exercise import Way
from strikebridge.club.selection import like_of, selection_of
from strikebridge.errors import PlanError
from strikebridge.measures import against_best, largest
from strikebridge.opening import known_exercises
from strikebridge.progress.cue import cue_effect
from strikebridge.recorded_reps import recorded_reps
from strikebridge.records import CAMP, best_before
from strikebridge.samples import Effort
from strikebridge.session.plan import Plan
from strikebridge.session.turns import turns_of
from strikebridge.store.past import History
from strikebridge.store.records import Records
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from strikebridge.club.athlete import Athlete, Hand
    from strikebridge.club.selection import Like, RepSummary
    from strikebridge.club.training import RepRecord, ResumePoint, SessionRecord
    from strikebridge.progress.cue import CueEffect
    from strikebridge.recorded_reps import Place
    from strikebridge.samples import MeasureValue, Rep
    from strikebridge.store.database import Store


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """One rep on record.

    Attributes:
        record: as it stands in the database.
        rep: with its curve, None where the recording is not there.
    """

    record: RepRecord
    rep: Rep | None = None


@dataclass(frozen=True, slots=True, eq=False)
class CueSeen:
    """What was seen of one cue in a session.

    Attributes:
        effect: what is known of it, of all sessions of the camp.
        pairs: number of the rep before and of the one after it, each with its force [N].
    """

    effect: CueEffect
    pairs: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Work:
    """What one athlete did of one exercise, alike in hand, set-up and effort.

    Attributes:
        name: of the exercise.
        hand: left or right, None where both work.
        effort: maximal or submaximal.
        reps: in order, those taken back among them.
        best: the largest that counts, None without any.
        best_words: `new best`, `level with best`, or empty; held against maximal reps of all
            days before, and empty where the effort was held back.
        cues: each cue that was given before a rep of it.
    """

    name: str
    hand: Hand | None
    effort: Effort
    reps: tuple[Kept, ...]
    best: MeasureValue | None
    best_words: str
    cues: tuple[CueSeen, ...]

    @property
    def kept(self) -> tuple[Kept, ...]:
        """The reps that count."""
        return tuple(one for one in self.reps if one.record.is_kept)

    @property
    def faults(self) -> list[tuple[str, int]]:
        """Faults of the reps that count, the most frequent first."""
        return Counter(fault for one in self.kept for fault in one.record.faults).most_common()


@dataclass(frozen=True, slots=True, eq=False)
class AthleteDone:
    """What one athlete did.

    Attributes:
        name: name or alias.
        done: holds that count.
        planned: holds of the plan.
        timed: turns that were only timed.
        stopped: names of exercises ended for pain.
        work: by exercise, in the order it began.
    """

    name: str
    done: int
    planned: int
    timed: int
    stopped: tuple[str, ...]
    work: tuple[Work, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SessionDone:
    """What was done in a session.

    Attributes:
        record: as it stands in the database.
        people: in the order of the session.
        left_out: turns that are over without a rep.
        still_open: turns that nobody came to.
        cautions: what could not be fetched, each a sentence.
    """

    record: SessionRecord
    people: tuple[AthleteDone, ...]
    left_out: int
    still_open: int
    cautions: tuple[str, ...] = ()

    @property
    def done(self) -> int:
        """Holds that count."""
        return sum(one.done for one in self.people)

    @property
    def planned(self) -> int:
        """Holds of the plan."""
        return sum(one.planned for one in self.people)


def last_session(store: Store) -> SessionRecord | None:
    """Find the session that began last; None where there is none.

    Args:
        store: the database.

    Raises:
        StoreError: the database cannot be read.
    """
    return next(iter(History(store).sessions(limit=1)), None)


def look_back(store: Store, session: str) -> SessionDone:
    """Put together what was done in a session, without the curves: those take seconds.

    Args:
        store: the database.
        session: id of the session.

    Returns:
        All of it.

    Raises:
        StoreError: there is no such session, or the database cannot be read.
    """
    point = Training(store).resume_point(session)
    record, reps = point.session, History(store).reps(session)
    roster = {one.id: one for one in Roster(store).all()}
    planned = _planned(record, store)
    names = {key: one.name for key, one in known_exercises(store).items()}
    people = []
    for athlete in record.athletes:
        if athlete not in roster:
            continue
        kept = [Kept(one) for one in reps if one.athlete == athlete]
        work = _work(kept, store, record, names)
        people.append(_person(roster[athlete], kept, work, point, planned, names))
    open_turns = record.turns - len(point.done) - len(point.closed)
    return SessionDone(record, tuple(people), len(point.closed), open_turns)


def with_curves(done: SessionDone, recordings: Path) -> SessionDone:
    """Fetch the curves of a session out of its recordings.

    Args:
        done: what was done.
        recordings: folder with the recordings.

    Returns:
        The same with every curve that could be fetched, and words for the others.
    """
    every = [one.record for who in done.people for work in who.work for one in work.reps]
    curves, cautions = recorded_reps(every, recordings)

    def joined(work: Work) -> Work:
        reps = tuple(Kept(one.record, curves.get(_place(one.record))) for one in work.reps)
        return replace(work, reps=reps)

    people = tuple(
        replace(who, work=tuple(joined(work) for work in who.work)) for who in done.people
    )
    return replace(done, people=people, cautions=cautions)


def _place(rep: RepRecord) -> Place:
    return rep.recording or "", rep.start_s or 0.0


def _planned(record: SessionRecord, store: Store) -> Mapping[str, int]:
    """Count the holds that the plan had for each athlete; none where it cannot be read."""
    try:
        plan = msgspec.json.decode(record.plan_text, type=Plan)
        turns = turns_of(plan, record.athletes, known_exercises(store))
    except (msgspec.DecodeError, PlanError, IndexError):  # of another version
        return {}
    return Counter(turn.athlete for turn in turns if turn.is_measured)


def _person(
    athlete: Athlete,
    kept: Sequence[Kept],
    work: tuple[Work, ...],
    point: ResumePoint,
    planned: Mapping[str, int],
    names: Mapping[str, str],
) -> AthleteDone:
    counts = [one.record for one in kept if one.record.is_kept]
    done = sum(one.way is not Way.TIMED for one in counts)
    stopped = sorted(key for who, key in point.stopped if who == athlete.id)
    return AthleteDone(
        name=athlete.name,
        done=done,
        planned=max(done, planned.get(athlete.id, done)),
        timed=sum(one.way is Way.TIMED for one in counts),
        stopped=tuple(names.get(key, key) for key in stopped),
        work=work,
    )


def _work(
    kept: Sequence[Kept], store: Store, record: SessionRecord, names: Mapping[str, str]
) -> tuple[Work, ...]:
    """Sort an athlete's reps by what they share."""
    sorted_by: dict[Like, list[Kept]] = {}
    for one in kept:
        if one.record.way is not Way.TIMED:
            sorted_by.setdefault(like_of(one.record), []).append(one)
    return tuple(
        _one_work(some, like, store, record, names) for like, some in sorted_by.items()
    )


def _one_work(
    some: Sequence[Kept],
    like: Like,
    store: Store,
    record: SessionRecord,
    names: Mapping[str, str],
) -> Work:
    first = some[0].record
    camp = replace(
        selection_of(like),
        since=record.started_at - CAMP,
        until=max(one.record.ended_at for one in some) + timedelta(seconds=1),
    )
    kept = [one.record for one in some if one.record.is_kept]
    best = largest(one.force for one in kept)
    is_maximal = first.prescription.effort is Effort.MAXIMAL
    top = next((one for one in kept if is_maximal and one.force is best), None)
    before = None if top is None else best_before(store, top, record.started_at)
    cues = dict.fromkeys(one.record.cue for one in some if one.record.cue)
    values = Records(store).values(camp) if cues else ()
    known = [one for one in values if one.value.value is not None]
    return Work(
        name=names.get(first.exercise, first.exercise),
        hand=first.hand,
        effort=first.prescription.effort,
        reps=tuple(some),
        best=best,
        best_words=against_best(best, before),
        cues=tuple(
            CueSeen(cue_effect(known, cue), _pairs(known, record.id, cue)) for cue in cues
        ),
    )


def _pairs(
    known: Sequence[RepSummary], session: str, cue: str
) -> tuple[tuple[float, float], ...]:
    """Find the rep before each cued one of this session, and that one [N]."""
    mine = [one for one in known if one.session == session]
    return tuple(
        (first.number, second.number) for first, second in pairwise(mine) if second.cue == cue
    )
