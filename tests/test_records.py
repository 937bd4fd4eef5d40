"""From the database to what is said of a camp, against the same reps put in by hand."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from strikebridge.club.athlete import Hand
from strikebridge.club.exercise import Way
from strikebridge.club.selection import NO_SETUP, Selection
from strikebridge.progress.overview import Squad, overview, squads
from strikebridge.progress.typical_error import SquadError
from strikebridge.records import CAMP, HELD, Camp, Shelf, camp
from strikebridge.store.database import Store, open_store
from strikebridge.store.records import Records
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from tests.store.made import DAY, INES, JUNO, SETUP, rep, session

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

WEEK = timedelta(weeks=1)
OTHER_SETUP = replace(SETUP, pad_height_m=1.5)
LEVELS_N = {INES.id: (800.0, 820.0, 790.0, 815.0, 930.0), JUNO.id: (600.0, 640.0, 610.0, 600.0)}


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Two athletes over five weeks, three reps a week, and a little of everything else."""
    with contextlib.closing(open_store(_fill(tmp_path_factory.mktemp("data")))) as opened:
        yield opened


def _fill(data: Path) -> Path:
    with contextlib.closing(open_store(data)) as store:
        Roster(store, lambda: DAY).add_all([INES, JUNO])
        training = Training(store, lambda: DAY)
        for week in range(5):
            one = session(100, week + 1)
            training.begin(replace(one, started_at=one.started_at + week * WEEK))
            turn = 0
            for athlete, levels in LEVELS_N.items():
                for step in (0.0, 12.0, -7.0) if week < len(levels) else ():
                    turn += 1
                    made = replace(rep(turn, levels[week] + step), session=one.id)
                    training.save(
                        replace(made, athlete=athlete, ended_at=made.ended_at + week * WEEK)
                    )
        last = replace(rep(50, 777.0), session=session(100, 5).id)
        last = replace(last, ended_at=last.ended_at + 4 * WEEK)
        training.save(replace(last, setup=OTHER_SETUP))
        training.save(replace(last, turn=51, setup=None, hand=Hand.LEFT, exercise="lead-hook"))
        training.save(replace(last, turn=52, way=Way.TYPED))
        long_ago = replace(rep(59, 2000.0), session=session(100, 1).id)
        training.save(replace(long_ago, ended_at=long_ago.ended_at - CAMP))
    return data


def test_a_camp_is_what_progress_says_of_the_same_reps(store: Store) -> None:
    found = camp(store, Selection(athlete=INES.id))
    reps = Records(store).values(Selection(exercise="rear-straight"))
    assert found.since is not None
    recent = [one for one in reps if one.value.value is not None and one.at >= found.since]
    squad = squads(recent)["rear-straight"]
    assert found.squads["rear-straight"] == squad
    mine = [one for one in recent if one.like.athlete == INES.id]
    straight = [one for one in found.standings if one.like.exercise == "rear-straight"]
    assert {one.like.setup for one in straight} == {SETUP.key, OTHER_SETUP.key}
    for one in straight:
        alike = [each for each in mine if each.like == one.like]
        assert one.reps == tuple(alike)
        assert one.overview == overview(alike, squad)
    assert found.setups == {SETUP.key: SETUP, OTHER_SETUP.key: OTHER_SETUP}


def test_a_first_test_of_long_ago_is_asked_for(store: Store) -> None:
    recent = camp(store, Selection(athlete=INES.id, setup=SETUP.key))
    everything = camp(
        store, Selection(athlete=INES.id, setup=SETUP.key, since=rep(1).ended_at - 2 * CAMP)
    )
    assert recent.standings[0].overview.best.number == 942.0
    assert everything.standings[0].overview.best.number == 2000.0


def test_filters_do_not_change_what_the_squad_tells(store: Store) -> None:
    """What an athlete is judged by must not depend on what is looked at."""
    whole = camp(store, Selection(exercise="rear-straight"))
    for selection in (
        Selection(exercise="rear-straight", athlete=INES.id),
        Selection(exercise="rear-straight", hand=Hand.RIGHT),
        Selection(exercise="rear-straight", setup=SETUP.key),
    ):
        part = camp(store, selection)
        assert part.squads == whole.squads
        assert part.standings
        assert all(one in whole.standings for one in part.standings)


def test_a_shelf_saves_reading_and_changes_nothing(store: Store) -> None:
    shelf: Shelf = {}
    since = rep(1).ended_at - WEEK
    board = camp(store, Selection(exercise="rear-straight", since=since), shelf=shelf)
    assert list(shelf.values()) == [board.squads["rear-straight"]]
    one = Selection(athlete=INES.id, since=since)
    assert camp(store, one, shelf=shelf) == camp(store, one)
    assert camp(store, one, shelf=shelf) == camp(store, one, shelf={})
    assert len(shelf) == 2
    # what lies on it is what is used
    marked = {place: Squad(SquadError(0.5, 9.0, 9.0)) for place in shelf}
    assert camp(store, one, shelf=marked).squads["rear-straight"].error.share == 0.5
    assert camp(store, replace(one, athlete=None), shelf=marked) == camp(
        store, replace(one, athlete=None)
    )


def test_held_forces_of_one_are_judged_against_the_squads_from_the_shelf(
    tmp_path: Path,
) -> None:
    held = {
        INES.id: (400.0, 430.0, 390.0),
        JUNO.id: (500.0, 505.0, 498.0),
    }
    with contextlib.closing(open_store(tmp_path)) as store:
        Roster(store, lambda: DAY).add_all([INES, JUNO])
        training = Training(store, lambda: DAY)
        for week in range(3):
            one = session(100, week + 1)
            training.begin(replace(one, started_at=one.started_at + week * WEEK))
            for turn, (athlete, levels) in enumerate(held.items(), start=1):
                typed = replace(rep(turn, levels[week]), session=one.id, athlete=athlete)
                force = replace(typed.measures["peak_force"], name=HELD)
                typed = replace(typed, way=Way.TYPED, measures={HELD: force})
                training.save(replace(typed, ended_at=typed.ended_at + week * WEEK))
            # somebody's peak, so that the exercise is known to the shelf
            peak = replace(rep(9), session=one.id, hand=Hand.LEFT)
            training.save(replace(peak, ended_at=peak.ended_at + week * WEEK))
        shelf: Shelf = {}
        since = rep(1).ended_at - WEEK
        board = camp(store, Selection(exercise="rear-straight", since=since), shelf=shelf)
        assert len(board.standings) == 3
        assert len(shelf) == 2
        alone = Selection(athlete=JUNO.id, since=since)
        (mine,) = camp(store, alone, shelf=shelf).standings
        assert mine == board.of(JUNO.id)[0]
        assert mine.reps[0].value.name == HELD
        marked = {place: Squad(SquadError(0.5, 9.0, 9.0)) for place in shelf}
        (judged,) = camp(store, alone, shelf=marked).standings
        assert judged.overview.error != mine.overview.error


def test_each_filter_leaves_what_it_names(store: Store) -> None:
    def likes(found: Camp) -> set[tuple[str, str, str | None]]:
        return {
            (one.like.athlete, one.like.exercise, one.like.setup) for one in found.standings
        }

    assert likes(camp(store, Selection(hand=Hand.LEFT))) == {(INES.id, "lead-hook", None)}
    assert likes(camp(store, Selection(setup=NO_SETUP))) == {(INES.id, "lead-hook", None)}
    assert likes(camp(store, Selection(athlete=JUNO.id))) == {
        (JUNO.id, "rear-straight", SETUP.key)
    }
    assert len(likes(camp(store, Selection()))) == 4
    assert camp(store, Selection()).of(JUNO.id) == camp(store, Selection(athlete=JUNO.id)).of(
        JUNO.id
    )


def test_typed_results_are_said(store: Store) -> None:
    said = {
        one.like.setup: one.cautions
        for one in camp(store, Selection(athlete=INES.id)).standings
    }
    assert said[OTHER_SETUP.key] == ()
    assert said[SETUP.key] == (
        "1 of 16 reps were typed, not measured; what a plain scale may be off is in the ±.",
    )


def test_nothing_on_record_is_an_empty_camp(store: Store) -> None:
    for selection in (
        Selection(athlete="0" * 32),
        Selection(exercise="squat-hold"),
        Selection(until=rep(1).ended_at - 2 * CAMP),
    ):
        found = camp(store, selection)
        assert found.standings == ()
        assert found.since is None
    later = Selection(athlete=INES.id, since=rep(1).ended_at + 9 * CAMP)
    assert camp(store, later).standings == ()
