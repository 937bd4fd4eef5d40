"""Cues told apart from chance, sides over sessions, and the overview of it all."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.progress.cue import cue_effect, pairs_of
from strikebridge.progress.estimate import Word
from strikebridge.progress.overview import Squad, overview, squads
from strikebridge.progress.readiness import Readiness
from strikebridge.progress.sides import asymmetry_by_session, pooled_asymmetry
from strikebridge.progress.typical_error import ErrorSource
from tests.progress.made_camps import LIKE, camp, session, withheld

if TYPE_CHECKING:
    from strikebridge.club.selection import RepSummary

LEFT = replace(LIKE, hand="left")


def cued(effect: float, sessions: int = 8, seed: int = 2) -> list[RepSummary]:
    rng = np.random.default_rng(seed)
    reps = []
    for number in range(sessions):
        noise = rng.normal(size=8)
        cues = [""] * 8
        for i in range(1, 8):
            if noise[i - 1] < -0.3 and rng.random() < 0.5:
                cues[i] = "snap"
        day = 500 + 20 * rng.normal()
        added = np.array([effect * bool(cue) for cue in cues])
        reps += session(number, (day + 10 * noise + added).tolist(), cues=cues)
    return reps


def test_a_cue_that_works_is_found_and_its_size_held() -> None:
    found = cue_effect(cued(25.0), "snap")
    assert found.effect is not None
    assert found.word is Word.REAL
    assert found.effect.low < 25.0 < found.effect.high
    assert found.plain_change is not None


def test_what_chance_does_after_poor_reps_is_no_effect() -> None:
    found = cue_effect(cued(0.0), "snap")
    assert found.effect is not None
    assert found.plain_change is not None
    # the plain change alone would have looked like an effect
    assert found.plain_change > 5.0
    assert abs(found.effect.value) < found.plain_change
    assert found.word is not Word.REAL


def test_no_verdict_from_two_pairs_only_the_plain_difference() -> None:
    reps = session(0, [500, 480, 510, 500, 470, 505], cues=["", "", "snap", "", "", "snap"])
    found = cue_effect(reps, "snap")
    assert (found.cued, found.effect, found.word) == (2, None, Word.CANNOT_TELL)
    assert found.plain_change == pytest.approx((30.0 + 35.0) / 2.0)
    assert "2 of the 3 cued reps" in found.reason


def test_a_cue_never_given_has_no_plain_difference() -> None:
    found = cue_effect(session(0, [500, 480]), "snap")
    assert found.plain_change is None


def test_no_verdict_without_uncued_reps_of_like_standing() -> None:
    reps = session(0, [500, 480, 510, 500], cues=["", "snap", "snap", "snap"])
    found = cue_effect(reps, "snap")
    assert (found.cued, found.alike, found.effect) == (3, 0, None)
    assert "like standing" in found.reason
    every = session(0, [500, 480, 510, 500], cues=["snap"] * 4)
    assert cue_effect(every, "snap").effect is None


def test_no_verdict_where_the_day_cannot_be_told_from_the_cue() -> None:
    reps = []
    for day in range(3):
        reps += session(day, [500 + day, 490 - day], cues=["", "snap"])
        reps += session(day + 10, [501 + day] * 2)
    found = cue_effect(reps, "snap")
    assert (found.cued, found.effect) == (3, None)
    assert "from the day" in found.reason


def test_few_pairs_are_fitted_without_the_place() -> None:
    cues = ["", "", "snap", "", "", "snap"]
    reps = session(0, [500, 480, 512, 482, 495, 525], cues=cues)
    reps += session(7, [520, 490, 526, 492, 505, 530], cues=cues)
    found = cue_effect(reps, "snap")
    assert found.effect is not None
    assert found.effect.dof == 10 - 4


def test_pairs_after_another_cue_are_left_out() -> None:
    reps = session(0, [500, 480, 510], cues=["", "reach", "snap"])
    assert [pair.is_cued for pair in pairs_of(reps, "snap")] == [True]


def test_asymmetry_over_sessions() -> None:
    lead, rear = camp([450, 460, 440], LEFT), camp([500, 500, 500])
    found = asymmetry_by_session(lead[:-3], rear)
    assert [value.value for _, value in found] == pytest.approx([-10.0, -8.0])
    every = [value for _, value in asymmetry_by_session(lead, rear)]
    pooled = pooled_asymmetry(every)
    assert pooled is not None
    assert pooled.value == pytest.approx(-10.0)
    assert pooled.u == pytest.approx(2.0 / np.sqrt(3.0))
    assert pooled.dof == 2.0
    assert pooled_asymmetry(every[:1]) is None


def test_sides_at_two_set_ups_are_not_compared() -> None:
    with pytest.raises(ValueError, match="one set-up"):
        asymmetry_by_session(camp([450], replace(LEFT, setup="lower ball")), camp([500]))


def test_overview_of_one_rep() -> None:
    found = overview(session(0, [500]))
    assert (found.reps, found.sessions, found.best.number) == (1, 1, 500.0)
    assert found.best_three.averaged == 1
    assert found.change is None
    assert found.trend is None
    assert found.today is not None
    assert found.today.word is Readiness.CANNOT_TELL
    assert found.error.source is ErrorSource.ASSUMED
    assert found.drop_offs[1].value is None
    assert "One rep" in found.run.cautions[0]
    with pytest.raises(ValueError, match="no rep"):
        overview([])


def test_overview_with_a_squad() -> None:
    rng = np.random.default_rng(9)
    reps = []
    for i in range(12):
        like = replace(LIKE, athlete=f"a{i}")
        levels = (600 + 40 * i) * (1 + 0.03 * rng.normal(size=8))
        reps += camp(
            levels.tolist(), like, reps=4, cues=["", "", "snap", ""], sets=[1, 1, 1, 2]
        )
    reps += camp([400, 410], replace(LIKE, hand="left"))
    reps += session(0, [withheld()], replace(LIKE, hand="left"))
    found = squads(reps)["rear straight"]
    assert found.error.share == pytest.approx(0.03, rel=0.25)
    assert found.worthwhile is not None
    assert set(found.worthwhile) == {"right"}
    mine = [rep for rep in reps if rep.like == replace(LIKE, athlete="a3")]
    page = overview(mine, found)
    assert page.error.source is ErrorSource.OWN_AND_SQUAD
    assert page.worthwhile == found.worthwhile["right"]
    assert page.today is not None
    assert page.today.matters == page.worthwhile
    assert page.change is not None
    assert page.trend is not None
    assert [cue.cue for cue in page.cues] == ["snap"]
    assert page.drop_offs[1].value == pytest.approx(0.0)
    assert page.drop_offs[2].value is None
    assert overview(mine, Squad()).worthwhile is None
