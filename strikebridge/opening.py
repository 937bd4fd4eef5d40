"""Open a group session: plan, roster, bests and a place to write it all down, put together.

Terminal and window begin a session, or take one up again, through here.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import msgspec

from strikebridge.club.athlete import hand_of
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.club.selection import Like
from strikebridge.club.training import SessionRecord, new_id
from strikebridge.day_stops import DayStops, keep_stops
from strikebridge.errors import FaultyPlanError, PlanError, SessionError
from strikebridge.plan_shelf import take_down
from strikebridge.session.chase import day_words
from strikebridge.session.choice import NOT_NOTED, as_run
from strikebridge.session.exercises import with_own
from strikebridge.session.group_conductor import GroupConductor
from strikebridge.session.plan import Plan
from strikebridge.session.plan_file import BUILT_IN, built_in, read_plan
from strikebridge.session.turns import turns_of
from strikebridge.store.exercises import OwnExercises
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from strikebridge.club.athlete import Athlete
    from strikebridge.club.exercise import Exercise
    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.club.training import PastValue, ResumePoint
    from strikebridge.session.choice import Choice
    from strikebridge.session.turns import Turn
    from strikebridge.store.database import Store


@dataclass(frozen=True, slots=True)
class Opened:
    """A session, ready to be run.

    Attributes:
        record: as it stands in the database.
        plan: as it is run.
        turns: every turn.
        athletes: id -> athlete.
        conductor: leads from the first turn that is still open.
        rig_setup: how wall and fist are set up.
        stops: what stops for pain of this day and of those before mean for it.
    """

    record: SessionRecord
    plan: Plan
    turns: tuple[Turn, ...]
    athletes: Mapping[str, Athlete]
    conductor: GroupConductor
    rig_setup: RigSetup
    stops: DayStops


def plan_of(named: str, store: Store, file: Path | None = None) -> Plan:
    """Read the plan that is meant.

    Args:
        named: one of `BUILT_IN`.
        store: has the coach's own exercises.
        file: a plan file in place of a built-in one.

    Returns:
        The plan as it is written.

    Raises:
        FaultyPlanError: it has mistakes; each is named.
        PlanError: there is none, or the file cannot be read.
        StoreError: the database cannot be read.
    """
    if file is None:
        text = built_in(named)
    else:
        try:
            text = file.read_text("utf-8")
        except (OSError, UnicodeDecodeError) as error:
            why = getattr(error, "strerror", None) or "it is no text"
            raise PlanError(
                f"{file} cannot be read as a plan: {why}. The program's own plans are "
                f"{', '.join(BUILT_IN)}; yours are named by their file, with folder and "
                ".toml."
            ) from error
    return read_plan(text, known_exercises(store))


def known_exercises(store: Store) -> dict[str, Exercise]:
    """Give the program's exercises and the coach's own.

    Args:
        store: the database.
    """
    return with_own(OwnExercises(store).all())


def bring_the_invented(store: Store) -> bool:
    """Fill an empty roster with the six invented athletes, for a simulated board.

    Args:
        store: the database.

    Returns:
        True if it was empty.
    """
    return Roster(store).add_if_empty(saltmarsh_quay())


def begin_session(store: Store, plan: Plan, group: str | None, rig_setup: RigSetup) -> Opened:
    """Begin a session with everybody of a group, or of the roster.

    Args:
        store: the database.
        plan: as it is run.
        group: name of a group, None for everybody.
        rig_setup: how wall and fist are set up.

    Returns:
        The session; it stands in the database.

    Raises:
        ConsentError: somebody is under age without consent; nothing was written.
        PlanError: there is nobody, or it is more than a day holds.
        RosterError: there is no such group.
        StoreError: the database cannot be used.
    """
    people = Roster(store).all(group)
    return _begin(store, plan, people, group or "", rig_setup)


def begin_chosen(store: Store, choice: Choice, data: Path) -> Opened:
    """Begin the session that was chosen in the window.

    Args:
        store: the database.
        choice: what was chosen; whoever is no longer in the roster is passed over.
        data: data folder, which has the coach's own plans.

    Returns:
        The session; it stands in the database.

    Raises:
        ConsentError: somebody is under age without consent; nothing was written.
        FaultyPlanError: the plan's file has mistakes; each is named.
        PlanError: there is nobody, or it is more than the dose or a day holds.
        StoreError: the database cannot be used.
    """
    shelved = take_down(choice.plan, data, known_exercises(store))
    if shelved.plan is None:
        raise FaultyPlanError(shelved.faults)
    plan = as_run(shelved.plan, choice.volume, choice.mode, choice.order)
    roster = {one.id: one for one in Roster(store).all()}
    people = [roster[one] for one in choice.athletes if one in roster]
    return _begin(store, plan, people, choice.group, choice.rig)


def _begin(
    store: Store, plan: Plan, people: Sequence[Athlete], group: str, rig_setup: RigSetup
) -> Opened:
    """Write a new session into the database, and get ready to lead it."""
    now = datetime.now().astimezone()
    athletes = {one.id: one for one in people}
    turns = turns_of(plan, list(athletes), known_exercises(store))
    record = SessionRecord(
        id=new_id(),
        plan=plan.name,
        plan_text=msgspec.json.encode(plan).decode(),
        athletes=tuple(athletes),
        turns=len(turns),
        started_at=now,
        group=group,
    )
    Training(store).begin(record)
    return _lead(store, record, plan, turns, athletes, rig_setup)


def resume_session(
    store: Store,
    named: str | None,
    rig_setup: RigSetup | None = None,
    usual: RigSetup = NOT_NOTED,
) -> Opened:
    """Take up the newest session that has no end.

    Args:
        store: the database.
        named: name of its plan, None for any.
        rig_setup: how wall and fist are set up from now on, None for as in its reps so far.
        usual: how they are where it has none.

    Returns:
        The session, at the first turn that is still open.

    Raises:
        SessionError: there is none, or it cannot be read any more.
        StoreError: the database cannot be used.
    """
    found = [one for one in Training(store).unfinished() if named in (None, one.plan)]
    if not found:
        raise SessionError("There is no session to take up again. Begin a new one.")
    record = found[0]
    try:
        plan = msgspec.json.decode(record.plan_text, type=Plan)
    except msgspec.DecodeError as error:
        raise SessionError(
            "The session was begun by another version of strikebridge and cannot be taken up "
            "again. What was done is safe. Begin a new one."
        ) from error
    roster = Roster(store)
    athletes = {one: roster.find(one) for one in record.athletes}
    turns = turns_of(plan, record.athletes, known_exercises(store))
    rig = rig_setup or _rig_of(store, record) or usual
    return _lead(store, record, plan, turns, athletes, rig)


def _rig_of(store: Store, record: SessionRecord) -> RigSetup | None:
    """Say how wall and fist were set up at the last rep of a session, None before the first."""
    setups = [rep.setup for rep in History(store).reps(record.id) if rep.setup is not None]
    return setups[-1] if setups else None


def _lead(
    store: Store,
    record: SessionRecord,
    plan: Plan,
    turns: tuple[Turn, ...],
    athletes: Mapping[str, Athlete],
    rig_setup: RigSetup,
) -> Opened:
    """Get ready to lead a session from where it stands; what was stopped today stays so."""
    now = datetime.now().astimezone()
    past = bests(store, turns, athletes, rig_setup)
    stops = keep_stops(store, record.id, turns, athletes, now)
    resumed: ResumePoint = Training(store).resume_point(record.id)
    values = {key: one.value for key, one in past.items()}
    days = {
        key: day_words(one.ended_at.astimezone(now.tzinfo).date(), now.date())
        for key, one in past.items()
    }
    conductor = GroupConductor(plan, turns, past=values, resumed=resumed, days=days)
    return Opened(record, plan, turns, athletes, conductor, rig_setup, stops)


def bests(
    store: Store,
    turns: Sequence[Turn],
    athletes: Mapping[str, Athlete],
    rig_setup: RigSetup,
) -> dict[tuple[str, str], PastValue]:
    """Look up everybody's best peak force with this set-up.

    Args:
        store: the database.
        turns: every turn.
        athletes: id -> athlete.
        rig_setup: how wall and fist are set up.

    Returns:
        Athlete and key of the exercise -> the best maximal hold; only what is on record.
    """
    history = History(store)
    found: dict[tuple[str, str], PastValue] = {}
    wanted = {turn.task: turn for turn in turns if turn.is_measured}
    for key, turn in wanted.items():
        side = turn.exercise.side
        hand = None if side is None else hand_of(side, athletes[turn.athlete].stance)
        word = "" if hand is None else hand.value
        past = history.past(Like(turn.athlete, turn.exercise.key, word, rig_setup.key))
        if past.best is not None:
            found[key] = past.best
    return found
