"""What is chosen for the next session: written, read back, settled into a plan as it is run."""

import pytest

from strikebridge.errors import PlanError
from strikebridge.session.choice import Choice, Volume, as_run, read_choice, write_choice
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.plan import Mode, Order
from strikebridge.session.plan_file import built_in, read_plan

FULL = Choice(
    "fight-day",
    ("1" * 32, "2" * 32),
    "Seniors",
    Volume(is_used_to_it=True, sets=2, is_confirmed=True),
    Order.ROTATION,
    Mode.ATHLETE,
)


@pytest.mark.parametrize("choice", [FULL, Choice("tuesday.toml")])
def test_a_choice_comes_back_as_it_was(choice: Choice) -> None:
    assert read_choice(write_choice(choice)) == choice


@pytest.mark.parametrize(
    "written", [b"", b"{", b"[]", b'{"plan": 3}', b"\xff", write_choice(FULL)[:40]]
)
def test_what_is_no_choice_is_none(written: bytes) -> None:
    assert read_choice(written) is None


def test_sets_mode_and_order_are_settled() -> None:
    plan = read_plan(built_in("fight-day"), EXERCISES)
    as_written = as_run(plan, Volume())
    assert (as_written.order, as_written.mode) == (plan.order, plan.mode)
    assert [block.sets for block in as_written.block] == [1]
    assert [block.sets for block in as_run(plan, Volume(is_used_to_it=True)).block] == [3]
    other = as_run(plan, Volume(), Mode.ROUNDS, Order.ROTATION)
    assert (other.mode, other.order) == (Mode.ROUNDS, Order.ROTATION)


def test_more_than_the_dose_has_to_be_confirmed() -> None:
    plan = read_plan(built_in("fight-day"), EXERCISES)
    with pytest.raises(PlanError, match="the dose for those new to it is 1"):
        as_run(plan, Volume(sets=2))
    assert as_run(plan, Volume(sets=2, is_confirmed=True)).block[0].sets == 2
