"""What a session shows in the terminal."""

import numpy as np
import pytest

from strikebridge.cli.big_digits import ROWS, big
from strikebridge.cli.session_view import framed, happening_words, screen_words
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.club.training import Closing
from strikebridge.glance import Glance, Phase, Trouble
from strikebridge.samples import ForceBlock, Hold, MeasureValue, Prescription, Rep, Verdict
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.happenings import (
    Advised,
    Closed,
    Cued,
    Done,
    Finished,
    Reopened,
    TakenBack,
)
from strikebridge.session.plan import Block
from strikebridge.session.turns import Turn
from strikebridge.units import ForceUnit

INES = saltmarsh_quay()[0]
BLOCK = Block(name="b", exercises=("rear-straight",), seconds=3.0, sets=2)
TURN = Turn(4, INES.id, 1, BLOCK, EXERCISES["rear-straight"], 2, 1)
WHO = "Ines Halloran   rear straight   set 2 of 2, rep 1   "


def words(one: object) -> str:
    return happening_words(one, {INES.id: INES}, ForceUnit.KG)  # type: ignore[arg-type] # any of them


def test_each_thing_that_happens_is_one_line() -> None:
    assert words(Closed(TURN, Closing.NO_SHOW)) == WHO + "no show"
    assert words(TakenBack(TURN)) == WHO + "taken back"
    assert words(Reopened(TURN)) == WHO + "comes again"
    assert words(Cued(TURN, "snap")) == "Ines Halloran   cue: snap"
    assert not words(Advised(TURN))  # a remark says it, by name
    assert not words(Closed(TURN, Closing.UNDONE))
    assert words(Done(TURN, 1, Prescription(), None)) == WHO + "3 s done"
    assert not words(Finished())


def test_a_hold_has_its_number_its_words_and_its_sentence() -> None:
    zeros = np.zeros(1)
    force = ForceBlock(
        np.zeros(1, np.int64), zeros, zeros, zeros.reshape(1, 1), zeros, zeros,
        np.zeros(1, np.uint16), 80.0, None,
    )  # fmt: skip
    hold = Hold(1, force, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, None)
    peak = MeasureValue("peak_force", 980.665, "N", 9.80665, 0.0)
    verdict = Verdict("snap", "steady", (), "Same again.", "")
    rep = Rep(hold, Prescription(), {"peak_force": peak}, (), verdict)
    said = words(Done(TURN, 1, Prescription(), rep))
    assert said == WHO + "100.0 ± 2.0 kg   snap, steady   Same again."


def test_big_digits_are_five_rows_that_differ() -> None:
    drawn = {letter: tuple(big(letter)) for letter in "0123456789-."}
    assert {len(rows) for rows in drawn.values()} == {ROWS}
    assert len(set(drawn.values())) == len(drawn)
    assert big("1", "#") == ["  ##", "####", "  ##", "  ##", "######"]


@pytest.mark.parametrize(
    ("glance", "number"),
    [
        (Glance(Phase.HOLD, force_N=980.665), "100"),
        (Glance(Phase.HOLD), "-"),
        (Glance(Phase.RESULT, peak_N=490.3325), "50"),
        (Glance(Phase.REST, seconds_left=17.2), "17"),
        (Glance(Phase.COUNT_IN, seconds_left=-0.1), "0"),
        (Glance(Phase.READY), " "),
    ],
)
def test_one_number_is_big(glance: Glance, number: str) -> None:
    lines = screen_words(glance).splitlines()
    assert lines[3 : 3 + ROWS] == big(number)


def test_a_new_picture_leaves_nothing_of_the_one_before() -> None:
    assert framed("a\nb") == "\x1b[Ha\x1b[K\nb\x1b[K\n\x1b[J"


def test_cues_have_their_keys_and_the_one_given_is_named() -> None:
    said = screen_words(Glance(Phase.READY, cue="snap"), ("snap", "breathe out"))
    assert "cue given: snap\ncues: 1 snap, 2 breathe out" in said
    assert "cue" not in screen_words(Glance(Phase.READY))


def test_the_screen_says_who_what_and_what_to_mind() -> None:
    glance = Glance(
        Phase.READY,
        athlete="Ines Halloran",
        exercise="rear straight",
        hand="right",
        following="Mirko Tallis",
        set_number=1,
        set_total=3,
        rep_number=1,
        target_N=980.665,
        band_N=(490.3325, 588.399),
        notes=("Mind the wrist.",),
        trouble=Trouble("The board went quiet.", "Check the plug.", 1.0),
        stage="ready",
    )
    said = screen_words(glance)
    for part in (
        "Ines Halloran   rear straight   right   set 1 of 3, rep 1",
        "to beat: 100 kg",
        "band: 50 to 60 kg",
        "Mind the wrist.",
        "The board went quiet.",
        "then: Mirko Tallis",
    ):
        assert part in said
