"""The page of the coach's own exercises, and what a plan makes of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from strikebridge.club.athlete import Side
from strikebridge.club.exercise import Arm, Way
from strikebridge.enrolling import ExerciseEntry, add_exercises
from strikebridge.errors import RosterError
from strikebridge.pages.exercises import ExercisesPage
from strikebridge.pages.plan import PlanPage
from strikebridge.store.exercises import OwnExercises
from tests.pages.keys import cells, choose, keep, press
from tests.pages.made import PLAN

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.store.database import Store


@pytest.fixture
def own(store: Store) -> OwnExercises:
    return OwnExercises(store)


def test_an_exercise_is_added_and_taken_back(own: OwnExercises) -> None:
    page = ExercisesPage(own)
    assert page.sheet().tell == "None of your own yet."
    form = press(page, "N").form
    assert keep(page, form, name="Palm press", way="measured", side="both", arm="bent").is_done
    assert page.sheet().said == "lead Palm press and rear Palm press added."
    assert cells(page, "rear Palm press")[1:] == (
        "rear-palm-press",
        "measured at the wall, bent arm",
    )
    lead, rear = own.all()
    assert (lead.side, rear.side) == (Side.LEAD, Side.REAR)
    assert (lead.way, lead.arm) == (Way.MEASURED, Arm.BENT)
    choose(page, "rear Palm press")
    press(page, "X")
    assert page.sheet().said.startswith("X again takes rear-palm-press back")
    press(page, "X")
    assert page.sheet().said == "rear-palm-press is gone."
    assert own.all() == (lead,)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"name": "", "way": "timed"}, "name"),
        ({"name": "rear hook", "way": "timed"}, "name"),
        ({"name": "Sit", "way": "guessed"}, "way"),
        ({"name": "Sit", "way": "timed", "side": "left"}, "side"),
        ({"name": "Sit", "way": "timed", "arm": "long"}, "arm"),
    ],
)
def test_what_is_wrong_stands_at_its_field(
    own: OwnExercises, fields: dict[str, str], field: str
) -> None:
    page = ExercisesPage(own)
    answer = keep(page, press(page, "N").form, **fields)
    assert [fault.field for fault in answer.faults] == [field]
    assert not own.all()
    with pytest.raises(RosterError):
        add_exercises(own, ExerciseEntry((), answer.faults))


def test_a_plan_is_mended_by_adding_its_exercise(store: Store, tmp_path: Path) -> None:
    (tmp_path / "plans").mkdir()
    (tmp_path / "plans" / "own.toml").write_text(PLAN.replace('"straight"', '"palm-press"'))
    plan = PlanPage(store, tmp_path)
    press(plan, "Left")
    assert plan.sheet().tell == "own.toml has mistakes."
    exercises = press(plan, "E").page
    assert exercises is not None
    form = press(exercises, "N").form
    keep(exercises, form, name="Palm press", way="measured", side="both")
    choose(exercises, "Back")
    assert press(exercises, "PgDown").leaves
    press(plan, "F")  # any key looks anew
    assert plan.sheet().tell == "Nobody takes part yet."
    assert press(exercises, "Esc").leaves


def test_the_database_may_refuse(own: OwnExercises, store: Store) -> None:
    page = ExercisesPage(own)
    form = press(page, "N").form
    with store.writing() as session:
        session.connection().exec_driver_sql("DROP TABLE own_exercise")
    assert "database" in keep(page, form, name="Sit", way="timed").refused
