"""What the coach's keys mean in a session, before they are commands."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from strikebridge.desk import Desk, Place
from strikebridge.screens.controls import GO_KEYS, Controls
from strikebridge.session.group_table import Input, Stage
from tests.screens.session_glances import DRILL, READY
from tests.screens.test_window import FakeStation

if TYPE_CHECKING:
    from strikebridge.glance import Glance

SIX = Desk(
    tuple(
        Place(name, turn=turn, is_now=turn == 7)
        for turn, name in enumerate(("Ines", "Tobias", "Ayla", "Kwame", "Mirko", "Juno"), 7)
    )
)


@pytest.fixture
def station() -> FakeStation:
    return FakeStation(READY)


def test_plain_commands_go_on_at_once(station: FakeStation) -> None:
    controls = Controls(station)
    for command in (Input.SKIP, Input.PAUSE, Input.UNDO):
        assert controls.press(command, READY, SIX) == ""
    assert station.commands == [(Input.SKIP, None), (Input.PAUSE, None), (Input.UNDO, None)]
    assert controls.question is None
    assert not controls.answer("X")  # nothing was asked


def test_pain_pauses_and_the_second_press_ends_it_for_whom_it_was_asked(
    station: FakeStation,
) -> None:
    controls = Controls(station)
    controls.press(Input.PAIN, READY, SIX)
    assert station.commands == [(Input.PAUSE, None)]
    assert controls.question is not None
    assert "rear straight for Ines Halloran" in controls.question.words
    # meanwhile the next athlete has been called: the answer still means the first
    assert controls.answer("X")
    assert station.commands[1:] == [(Input.PAIN, READY.turn)]
    assert controls.question is None


@pytest.mark.parametrize("name", [*sorted(GO_KEYS), "PgUp", "B", ".", "S", "1", "Esc"])
def test_no_other_key_confirms_pain(station: FakeStation, name: str) -> None:
    controls = Controls(station)
    controls.press(Input.PAIN, READY, SIX)
    assert controls.answer(name) is (name not in GO_KEYS)  # a key that goes on also goes on
    assert controls.question is None
    assert [command for command, _ in station.commands] == [Input.PAUSE]


@pytest.mark.parametrize("stage", [Stage.PAUSED, Stage.LOST])
def test_what_stands_still_already_is_not_set_going_by_the_question(
    station: FakeStation, stage: Stage
) -> None:
    controls = Controls(station)
    controls.press(Input.PAIN, replace(READY, stage=stage.value), SIX)
    assert station.commands == []  # a second pause would go on
    assert controls.question is not None


@pytest.mark.parametrize("glance", [replace(READY, stage="over"), replace(READY, stage="")])
def test_after_the_end_there_is_no_exercise_to_end(
    station: FakeStation, glance: Glance
) -> None:
    controls = Controls(station)
    controls.press(Input.PAIN, glance, SIX)
    assert controls.question is None
    assert station.commands == []


def test_in_what_all_do_together_pain_pauses_without_a_question(station: FakeStation) -> None:
    controls = Controls(station)
    controls.press(Input.PAIN, DRILL, SIX)
    assert station.commands == [(Input.PAIN, None)]
    assert controls.question is None


def test_a_swap_asks_who_and_a_digit_says_it(station: FakeStation) -> None:
    controls = Controls(station)
    assert controls.press(Input.SWAP, READY, SIX) == ""
    assert controls.question is not None
    assert controls.question.options == (
        "1: Tobias", "2: Ayla", "3: Kwame", "4: Mirko", "5: Juno",
    )  # fmt: skip
    assert controls.answer("3")
    assert station.commands == [(Input.SWAP, 10)]


@pytest.mark.parametrize("name", ["6", "0", "Space", "W", "Esc"])
def test_any_other_key_leaves_the_order_as_it_was(station: FakeStation, name: str) -> None:
    controls = Controls(station)
    controls.press(Input.SWAP, READY, SIX)
    assert controls.answer(name)
    assert controls.question is None
    assert station.commands == []


def test_of_two_nobody_is_asked_and_alone_it_is_said(station: FakeStation) -> None:
    controls = Controls(station)
    assert controls.press(Input.SWAP, READY, Desk(SIX.order[:2])) == "Tobias goes first."
    assert station.commands == [(Input.SWAP, 8)]
    assert controls.press(Input.SWAP, READY, Desk(SIX.order[:1])) == (
        "Nobody else is still to come."
    )
    assert controls.question is None


def test_in_what_all_do_together_nobody_goes_first(station: FakeStation) -> None:
    controls = Controls(station)
    assert controls.press(Input.SWAP, DRILL, SIX) == "Everybody does this together."
    assert station.commands == []
    assert controls.question is None
