"""A coach who names somebody: who goes first, and whose pain it was; and what is chased."""

from __future__ import annotations

from datetime import date

import msgspec
import pytest

from strikebridge.club.training import Closing
from strikebridge.samples import Effort, MeasureValue
from strikebridge.session.chase import day_words, origin
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.group_conductor import GroupConductor
from strikebridge.session.group_table import Input, Stage
from strikebridge.session.happenings import Closed, Turned
from strikebridge.session.plan import Block, Mode, Order, Plan, Target
from strikebridge.session.running_order import RunningOrder
from strikebridge.session.targets import Targets
from strikebridge.session.turns import Turn, turns_of

STRAIGHTS = Block(name="straights", exercises=("straight",), seconds=3.0, rest_s=5.0)
BAND = Block(name="band", exercises=("band-shadow-boxing",), seconds=30.0, everyone=True)
PLAN = Plan(name="trial", block=(STRAIGHTS,), mode=Mode.COACH)
PEOPLE = ("a1", "b2", "c3", "d4")


def turns(plan: Plan = PLAN) -> tuple[Turn, ...]:
    return turns_of(plan, PEOPLE, EXERCISES)


def test_anybody_can_be_called_first_and_nobody_else_changes_places() -> None:
    order = RunningOrder(turns())
    assert order.swap("c3")
    assert [turn.athlete for turn in order.coming] == ["c3"] * 2 + [
        one for one in ("a1", "b2", "d4") for _ in range(2)
    ]
    assert not order.swap("c3")  # whose turn it is already
    assert not order.swap("nobody")
    assert order.swap()
    assert order.current is not None
    assert order.current.athlete == "a1"


def test_nobody_is_moved_past_what_all_do_together() -> None:
    plan = msgspec.structs.replace(PLAN, block=(STRAIGHTS, BAND, STRAIGHTS))
    order = RunningOrder(turns(plan))
    for _ in range(7):
        order.finish()
    assert order.current is not None
    assert order.current.athlete == "d4"
    assert not order.swap("a1")
    order.finish()
    assert not order.swap()
    assert not order.swap("b2")


def test_in_rotation_the_next_turn_of_the_one_called_comes_first() -> None:
    plan = msgspec.structs.replace(PLAN, order=Order.ROTATION)
    one = GroupConductor(plan, turns(plan))
    one.tick(0.0)
    third = next(turn for turn in one.order.coming if turn.athlete == "c3")
    said = one.press(Input.SWAP, 1.0, turn=third.number)
    (turned,) = [word for word in said if isinstance(word, Turned)]
    assert turned.turn is third
    assert sorted(turn.number for turn in one.order.coming) == [
        turn.number for turn in turns(plan)
    ]


def test_pain_is_of_the_athlete_it_was_asked_for_whoever_stands_at_the_wall_now() -> None:
    one = GroupConductor(PLAN, turns())
    one.tick(0.0)
    meant = one.order.coming[0]
    one.press(Input.SKIP, 1.0)
    one.press(Input.SWAP, 2.0)
    assert one.turn is not None
    assert one.turn.athlete == "b2"
    said = one.press(Input.PAIN, 3.0, turn=meant.number)
    closed = {
        (word.turn.athlete, word.turn.exercise.key, word.why)
        for word in said
        if isinstance(word, Closed)
    }
    assert closed == set()  # that turn was over; nothing of it was to come
    assert ("a1", meant.exercise.key) in one.order.stopped
    assert one.turn.athlete == "b2"
    said = one.press(Input.PAIN, 4.0)
    assert {word.turn.athlete for word in said if isinstance(word, Closed)} == {"b2"}
    assert {word.why for word in said if isinstance(word, Closed)} == {Closing.PAIN}
    assert one.stage is Stage.REST or one.stage is Stage.READY


def a_turn(**changes: object) -> Turn:
    block = msgspec.structs.replace(STRAIGHTS, **changes)
    return turns(msgspec.structs.replace(PLAN, block=(block,)))[0]


def peak(value_N: float) -> MeasureValue:
    return MeasureValue("peak_force", value_N, "N", 1.0, 1.0)


@pytest.mark.parametrize(
    ("changes", "past", "words"),
    [
        ({}, None, "the first with this set-up"),
        ({}, 700.0, "own best, before this session"),
        ({"target": Target.NONE}, 700.0, ""),
        ({"target": Target.FIXED, "fixed_N": 500.0}, None, "set by the plan"),
        ({"fixed_band_N": (300.0, 400.0)}, None, "set by the plan"),
        (
            {"band_percent": (70.0, 80.0), "target": Target.BAND, "effort": Effort.SUBMAXIMAL},
            700.0,
            "70 to 80 % of own best",
        ),
        (
            {"band_percent": (70.0, 80.0), "target": Target.BAND, "effort": Effort.SUBMAXIMAL},
            None,
            "70 to 80 % by feel: no best with this set-up yet",
        ),
    ],
)
def test_the_number_to_chase_says_where_it_comes_from(
    changes: dict[str, object], past: float | None, words: str
) -> None:
    turn = a_turn(**changes)
    key = (turn.athlete, turn.exercise.key)
    targets = Targets({} if past is None else {key: peak(past)})
    assert origin(turn, targets) == words


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (date(2026, 3, 9), "own best, earlier today"),
        (date(2026, 3, 8), "own best, 8 Mar"),
        (date(2025, 12, 31), "own best, 31 Dec 2025"),
    ],
)
def test_a_best_of_a_session_before_says_its_day(day: date, words: str) -> None:
    turn = a_turn()
    key = (turn.athlete, turn.exercise.key)
    targets = Targets({key: peak(700.0)}, {key: day_words(day, date(2026, 3, 9))})
    assert origin(turn, targets) == words


def test_a_best_of_today_is_said_to_be_of_today() -> None:
    from tests.session.test_group_conductor import a_rep  # noqa: PLC0415 - one rep of theirs

    turn = a_turn()
    targets = Targets({(turn.athlete, turn.exercise.key): peak(400.0)})
    targets.keep(turn, a_rep(peak_N=500.0))
    assert origin(turn, targets) == "own best, today"
    drill = turns(msgspec.structs.replace(PLAN, block=(BAND,)))[0]
    assert origin(drill, targets) == ""
