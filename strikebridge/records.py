"""Stored reps into what is said of them: the way from the database to progress and reports.

`store` knows no statistics and `progress` no database; here the one leads into the other. What
is looked at is a camp: the twelve weeks up to the newest rep, unless other days are asked for.
A first test of years ago is no baseline. Set-ups, hands and efforts stay apart, since each is a
test of its own; calibrations and typed results that meet in one row are said.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from strikebridge.club.athlete import Side
from strikebridge.club.exercise import Way
from strikebridge.club.selection import NO_SETUP, like_of, maximal_of, selection_of
from strikebridge.progress.overview import Overview, Squad, overview, squads_of
from strikebridge.progress.rep_summary import by_like
from strikebridge.progress.score import score_run
from strikebridge.progress.sides import asymmetry_by_session, pooled_asymmetry
from strikebridge.store.database import without_collecting
from strikebridge.store.records import Records

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.club.selection import Like, RepSummary, Selection
    from strikebridge.club.training import RepRecord
    from strikebridge.progress.estimate import Estimate
    from strikebridge.samples import Effort, MeasureValue
    from strikebridge.store.database import Store

CAMP = timedelta(weeks=12)
Shelf = dict[tuple[object, ...], Squad]
"""What squads tell, by exercise, effort, days and measure."""
PEAK = "peak_force"
HELD = "hold_mean"
LEAD, REAR = (f"{side.value}-" for side in Side)  # how keys of exercises with a side begin
TYPED = (
    "{typed} of {reps} reps were typed, not measured; what a plain scale may be off is in "
    "the ±."
)
HELD_ALONE = "No peak is on record here: these are the forces that were held, typed in."


@dataclass(frozen=True, slots=True)
class Standing:
    """One athlete in one exercise, hand, set-up and effort.

    Attributes:
        overview: what is known.
        reps: the reps behind it, oldest first.
        cautions: what a reader has to know, each a sentence.
    """

    overview: Overview
    reps: tuple[RepSummary, ...]
    cautions: tuple[str, ...]

    @property
    def like(self) -> Like:
        """Whose, and of what."""
        return self.overview.like


@dataclass(frozen=True, slots=True)
class Sides:
    """Lead and rear of one athlete, one punch, set-up and effort.

    Attributes:
        lead: the lead side.
        rear: the rear side.
    """

    lead: Standing
    rear: Standing

    @property
    def by_session(self) -> list[tuple[datetime, MeasureValue]]:
        """The asymmetry of each session that had both [%], oldest first."""
        return asymmetry_by_session(self.lead.reps, self.rear.reps)

    @property
    def pooled(self) -> Estimate | None:
        """The mean of them [%], above zero where the lead is stronger; None below two."""
        return pooled_asymmetry([value for _, value in self.by_session])


@dataclass(frozen=True, slots=True)
class Camp:
    """What is on record of the reps that were asked for.

    Attributes:
        standings: by athlete and kind; the kind done last comes first.
        squads: what the squad tells, by key of the exercise.
        since: first moment looked at, None where nothing is on record.
        until: moment after the last, None for no end.
        measure: name of the measure.
        setups: the set-ups by their keys.
        plans: id of a session -> name of its plan.
    """

    standings: tuple[Standing, ...]
    squads: Mapping[str, Squad]
    since: datetime | None
    until: datetime | None
    measure: str
    setups: Mapping[str, RigSetup]
    plans: Mapping[str, str] = field(default_factory=dict)

    def sides(self) -> tuple[Sides, ...]:
        """Compare lead and rear wherever an athlete did both at one set-up."""
        by_kind = {_across(one.like): one for one in self.standings}
        return tuple(
            Sides(lead, rear)
            for lead in self.standings
            if lead.like.exercise.startswith(LEAD)
            and (rear := by_kind.get(_other_side(lead.like))) is not None
        )

    def of(self, athlete: str) -> tuple[Standing, ...]:
        """Give the standings of one athlete.

        Args:
            athlete: id of the athlete.
        """
        return tuple(one for one in self.standings if one.like.athlete == athlete)


@without_collecting()
def camp(
    store: Store, selection: Selection, measure: str = PEAK, shelf: Shelf | None = None
) -> Camp:
    """Look at the reps that are meant, beside those of the whole squad.

    Args:
        store: the database.
        selection: which reps; without a first day the twelve weeks up to the newest of them.
        measure: name of the measure.
        shelf: what squads tell, found before; with it one athlete is looked at without reading
            everybody's reps again. What is found is put onto it.

    Returns:
        What is on record of them. The squad's typical error and smallest worthwhile change come
        from everybody's reps of the same exercises and days.

    Raises:
        StoreError: the database cannot be read.
    """
    records = Records(store)
    exercises = _exercises(records, selection)
    if selection.since is None:
        newest = [
            at
            for exercise in exercises
            if (at := records.newest_at(replace(selection, exercise=exercise))) is not None
        ]
        if not newest:
            return Camp((), {}, None, selection.until, measure, {}, {})
        selection = replace(selection, since=max(newest) - CAMP)
    found: dict[str, Squad] = {}
    standings: list[Standing] = []
    for exercise in exercises:
        place = (exercise, selection.effort, selection.since, selection.until, measure)
        is_known = shelf is not None and place in shelf and selection.athlete is not None
        whose = selection.athlete if is_known else None
        wanted = replace(selection, athlete=whose, hand=None, setup=None, exercise=exercise)
        values = records.values(wanted, measure)
        typed = Counter(one.like for one in values if one.way is Way.TYPED)
        alike = by_like(values)
        runs = {like: score_run(reps) for like, reps in alike.items()}
        if shelf is not None and is_known:
            found[exercise] = shelf[place]
        else:
            found |= squads_of(runs)
        if shelf is not None and exercise in found:
            shelf[place] = found[exercise]
        standings += [
            Standing(
                overview(reps, found[exercise], runs[like]),
                reps,
                _cautions(typed[like], len(reps)),
            )
            for like, reps in alike.items()
            if _is_meant(like, selection)
        ]
        if measure == PEAK:
            held = _held_alone(records, wanted, values, shelf, (*place[:-1], HELD))
            standings += [one for one in held if _is_meant(one.like, selection)]
    standings.sort(key=lambda one: one.reps[-1].at, reverse=True)
    standings.sort(key=lambda one: one.like.athlete)
    keys = sorted({one.like.setup for one in standings if one.like.setup is not None})
    return Camp(
        standings=tuple(standings),
        squads=found,
        since=selection.since,
        until=selection.until,
        measure=measure,
        setups=records.setups(keys),
        plans=records.plans(selection.since),
    )


def _held_alone(
    records: Records,
    wanted: Selection,
    peaks: Sequence[RepSummary],
    shelf: Shelf | None,
    place: tuple[object, ...],
) -> list[Standing]:
    """Tell what was held where nobody could read a peak, as from a plain scale.

    Where there is one peak, held forces stay out: the two are different tests.
    """
    values = records.values(wanted, HELD, Way.TYPED)
    if not values:
        return []
    has_peak = {one.like for one in peaks}
    held = by_like(one for one in values if one.like not in has_peak)
    if not held:
        return []
    runs = {like: score_run(reps) for like, reps in held.items()}
    (squad,) = squads_of(runs).values()
    if shelf is not None and wanted.athlete is None:
        shelf[place] = squad
    elif shelf is not None:
        squad = shelf.get(place, squad)  # one athlete is no squad
    return [
        Standing(
            overview(reps, squad, runs[like]),
            reps,
            (HELD_ALONE, *_cautions(len(reps), len(reps))),
        )
        for like, reps in held.items()
    ]


def best_before(store: Store, rep: RepRecord, begun_at: datetime) -> MeasureValue | None:
    """Find the best force on record before a session, of however long ago.

    Args:
        store: the database.
        rep: one of the session; athlete, exercise, hand, set-up and measure are those of it.
        begun_at: when the session began.

    Returns:
        The largest of maximal reps, None where there is none.

    Raises:
        StoreError: the database cannot be read.
    """
    if rep.force is None:
        return None
    wanted = selection_of(maximal_of(like_of(rep)))
    return Records(store).largest(wanted, rep.force, begun_at)


def newest_exercise(store: Store, selection: Selection) -> str | None:
    """Say which exercise was done last of what is meant.

    Args:
        store: the database.
        selection: which reps.

    Returns:
        Key of the exercise, None where there is nothing.

    Raises:
        StoreError: the database cannot be read.
    """
    records = Records(store)
    newest = {
        at: exercise
        for exercise in records.exercises()
        if (at := records.newest_at(replace(selection, exercise=exercise))) is not None
    }
    return newest[max(newest)] if newest else None


def _exercises(records: Records, selection: Selection) -> tuple[str, ...]:
    """Say which exercises have to be looked at."""
    if selection.exercise is not None:
        return (selection.exercise,)
    if selection.athlete is None:
        return records.exercises()
    return tuple(
        sorted(
            {
                kind.exercise
                for kind in records.kinds(selection.athlete)
                if selection.since is None or kind.newest_at >= selection.since
            }
        )
    )


def _across(like: Like) -> tuple[str, str, str | None, Effort]:
    """Give what the two sides share, and the exercise; the hands differ."""
    return like.athlete, like.exercise, like.setup, like.effort


def _other_side(like: Like) -> tuple[str, str, str | None, Effort]:
    return _across(replace(like, exercise=REAR + like.exercise.removeprefix(LEAD)))


def _is_meant(like: Like, selection: Selection) -> bool:
    """Tell the reps asked for from those of the squad beside them."""
    setup = like.setup if like.setup is not None else NO_SETUP
    return (
        selection.athlete in {None, like.athlete}
        and selection.hand in {None, like.hand}
        and selection.setup in {None, setup}
    )


def _cautions(typed: int, reps: int) -> tuple[str, ...]:
    """Say what of the reps was not measured."""
    return (TYPED.format(typed=typed, reps=reps),) if typed else ()
