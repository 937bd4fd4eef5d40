"""The keys of a session in the terminal: as in the window, and pain asks first."""

import os
from dataclasses import replace

import pytest

from strikebridge.cli.keyboard import single_keys
from strikebridge.cli.session_keys import KEYS, KEYS_WORDS, KNOWN, UNIT, SessionKeys
from strikebridge.glance import Glance, Phase
from strikebridge.screens.keys import ACTIONS, SESSION_ACTIONS, Own
from strikebridge.session.group_table import Input
from strikebridge.units import ForceUnit
from tests.cli.test_calibrate_live import standard_input
from tests.screens.test_controls import SIX
from tests.screens.test_window import FakeStation

READY = Glance(
    Phase.READY, athlete="Ines Halloran", exercise="rear straight", stage="ready", turn=7
)


@pytest.fixture
def station() -> FakeStation:
    one = FakeStation(READY)
    one.lies = SIX
    return one


def test_letters_mean_what_they_mean_in_the_window() -> None:
    letters = {word: does for word, does in KEYS.items() if word.isalpha()}
    window = {
        key.lower(): does
        for key, does in SESSION_ACTIONS.items()
        if key.isalpha() and len(key) == 1
    }
    assert {key: does for key, does in letters.items() if key in window} == window
    assert ACTIONS[UNIT.upper()] is Own.UNIT
    assert {"z undo", "u unit", "x and x again stop for pain"} <= set(
        KEYS_WORDS.removeprefix("Keys: ").removesuffix(".").split(", ")
    )


def test_pain_asks_by_name_and_the_second_press_means_that_turn(station: FakeStation) -> None:
    heard = SessionKeys(station, ForceUnit.KG)
    said = heard.hear("x")
    assert said == (
        "Stop for pain? X again ends rear straight for Ines Halloran today. Any other key: "
        "no. Space: no, go on."
    )
    assert station.commands == [(Input.PAUSE, None)]
    assert heard.shown(READY).advice[0] == "Stop for pain?"
    station.newest = replace(READY, turn=8)
    assert heard.hear("x") == ""
    assert station.commands[1:] == [(Input.PAIN, 7)]
    assert heard.shown(READY).advice == ()


@pytest.mark.parametrize("word", ["q", "z", "3", "ä", "\x1b[a"])
def test_any_other_key_is_no_and_nothing_else(station: FakeStation, word: str) -> None:
    heard = SessionKeys(station, ForceUnit.KG)
    heard.hear("x")
    assert heard.hear(word) == ""
    assert station.commands == [(Input.PAUSE, None)]
    assert station.cued == []


def test_space_is_no_and_goes_on(station: FakeStation) -> None:
    heard = SessionKeys(station, ForceUnit.KG)
    heard.hear("x")
    heard.hear(" ")
    assert station.commands == [(Input.PAUSE, None), (Input.GO, None)]


def test_the_other_keys(station: FakeStation) -> None:
    heard = SessionKeys(station, ForceUnit.KG)
    assert heard.hear("u") == "Forces in N."
    assert heard.shown(READY).unit is ForceUnit.N
    assert heard.hear("2") == ""
    assert station.cued == [2]
    assert heard.hear("z") == ""
    assert station.commands == [(Input.UNDO, None)]
    assert heard.hear("ä") == ""
    said = heard.hear("w")
    assert said is not None
    assert said.startswith("Who goes now?")
    assert "1: " in said
    assert heard.hear("1") == ""
    assert station.commands[-1][0] is Input.SWAP
    assert heard.hear("q") is None


def test_a_key_of_several_characters_is_one_also_where_nobody_knows_it() -> None:
    read, write = os.pipe()
    try:
        with standard_input(read), single_keys() as keys:
            os.write(write, b"\x1b[C\x1bOPx\x1b[6~\xc3\xa4")
            pressed = keys.words(KNOWN, with_others=True)
            assert pressed == ["\x1b[c", "\x1bop", "x", "\x1b[6~", "ä"]
            os.write(write, b"\x1b[Cx\x1bOP")
            assert keys.words(KNOWN) == ["x"]
    finally:
        os.close(read)
        os.close(write)
