"""Results of days gone by into the database: typed, marked as typed, all of a file or none.

Each day becomes one session, known by its day, so that a file that has grown can be taken in
again: what is on record already is found and left as it is. Two equal reps of a day are two
reps; only as many as are on record are left out.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from strikebridge.club.athlete import hand_of, name_key
from strikebridge.club.exercise import Way
from strikebridge.club.past_table import Known, TypedResult, read_past
from strikebridge.club.training import RepRecord, SessionRecord
from strikebridge.samples import Prescription
from strikebridge.session.exercises import with_own
from strikebridge.store.exercises import OwnExercises
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from strikebridge.typed import COARSE, typed_value

if TYPE_CHECKING:
    from datetime import date

    from strikebridge.club.athlete import Hand
    from strikebridge.store.database import Store

PLAN = "typed"
NOON = 12  # a day has no hour; noon is the same day in most zones
Sameness = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What became of a table.

    Attributes:
        reps: how many were taken in.
        there: how many were on record already.
        days: how many days they are of.
    """

    reps: int
    there: int
    days: int


def take_in(store: Store, text: str, table: str, today: date) -> TakenIn:
    """Take in a table of results.

    Args:
        store: the database.
        text: the table.
        table: name of the file, for messages.
        today: the day.

    Returns:
        What became of it.

    Raises:
        FaultyFileError: something is wrong; all of it is named, and nothing was stored.
        ConsentError: an athlete is under age without consent; nothing was stored.
        StoreError: the database cannot be read or written.
    """
    exercises = with_own(OwnExercises(store).all())
    athletes = {name_key(one.name): one for one in Roster(store).all()}
    results = read_past(text, table, Known(athletes, exercises, today))
    by_day: dict[date, list[TypedResult]] = {}
    for one in results:
        by_day.setdefault(one.day, []).append(one)
    history = History(store)
    past = []
    reps = 0
    for day, some in sorted(by_day.items()):
        there = history.reps(_session_id(day))
        new = _not_there(some, there)
        turns = max((rep.turn for rep in there), default=0)
        made = [_rep(one, turn) for turn, one in enumerate(new, start=turns + 1)]
        reps += len(made)
        if made:
            past.append((_session(day, turns + len(made), made), made))
    Training(store, lambda: today).add_past(past)
    return TakenIn(reps, len(results) - reps, len(by_day))


def _session_id(day: date) -> str:
    return hashlib.sha256(f"{PLAN} {day.isoformat()}".encode()).hexdigest()[:32]


def _noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, NOON).astimezone()


def _session(day: date, turns: int, reps: list[RepRecord]) -> SessionRecord:
    return SessionRecord(
        id=_session_id(day),
        plan=PLAN,
        plan_text="",
        athletes=tuple(dict.fromkeys(rep.athlete for rep in reps)),
        turns=turns,
        started_at=_noon(day),
        ended_at=_noon(day),
    )


def _hand(one: TypedResult) -> Hand | None:
    side = one.exercise.side
    return None if side is None else hand_of(side, one.athlete.stance)


def _rep(one: TypedResult, turn: int) -> RepRecord:
    return RepRecord(
        session=_session_id(one.day),
        turn=turn,
        athlete=one.athlete.id,
        exercise=one.exercise.key,
        set_number=one.set_number,
        rep_number=turn,
        # a second apart, so that the order of the table is that of the day
        ended_at=_noon(one.day) + timedelta(seconds=turn),
        hand=_hand(one),
        stance=one.athlete.stance,
        setup=one.setup,
        prescription=Prescription(one.effort, one.hold_s),
        way=Way.TYPED,
        detail=COARSE,
        cue=one.cue,
        measures={
            force.measure: typed_value(force.measure, force.value_N, force.step_N)
            for force in one.forces
        },
    )


def _not_there(results: list[TypedResult], there: tuple[RepRecord, ...]) -> list[TypedResult]:
    """Leave out as many of a kind as are on record."""
    left = Counter(_sameness(rep) for rep in there)
    new = []
    for one in results:
        same = _sameness(_rep(one, 1))
        if left[same] > 0:
            left[same] -= 1
        else:
            new.append(one)
    return new


def _sameness(rep: RepRecord) -> Sameness:
    """Give what makes two typed results of a day the same."""
    values = tuple((name, round(one.value or 0.0, 3)) for name, one in rep.measures.items())
    setup = None if rep.setup is None else rep.setup.key
    asked = rep.prescription
    return (
        rep.athlete,
        rep.exercise,
        rep.set_number,
        setup,
        asked.effort,
        asked.hold_s,
        rep.cue,
        values,
    )
