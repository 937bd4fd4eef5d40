"""Like reps, one number a session, and what it owes to a calibration."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from strikebridge.progress.rep_summary import by_like, by_session
from strikebridge.progress.score import common_part, score_of, score_run
from tests.progress.made_camps import LIKE, camp, force, session, withheld


def test_only_like_reps_stand_together_and_withheld_ones_nowhere() -> None:
    other = replace(LIKE, setup="lower ball")
    reps = [*session(4, [500, 510]), *session(0, [480, withheld()]), *session(0, [490], other)]
    found = by_like(reps)
    assert [rep.number for rep in found[LIKE]] == [480, 500, 510]
    assert [rep.number for rep in found[other]] == [490]
    assert [len(one) for one in by_session(found[LIKE])] == [1, 2]


def test_a_withheld_rep_has_no_number() -> None:
    with pytest.raises(ValueError, match="no value"):
        _ = session(0, [withheld()])[0].number


def test_unlike_reps_or_units_are_refused() -> None:
    with pytest.raises(ValueError, match="not alike"):
        score_run([*session(0, [1]), *session(1, [1], replace(LIKE, hand="left"))])
    kilograms = replace(force(50.0), unit="kg")
    with pytest.raises(ValueError, match="different units"):
        score_run([*session(0, [500]), *session(1, [kilograms])])


def test_no_rep_no_score() -> None:
    assert len(score_run([]).scores) == 0
    assert score_run([]).days == ()


def test_score_is_the_mean_of_the_best_three() -> None:
    score = score_of(session(0, [500, 530, 510, 520, 400]))
    assert (score.value, score.averaged, score.tries) == (520.0, 3, 5)
    assert score.u_own == pytest.approx(math.sqrt(3.0) / 3.0)


def test_more_tries_are_no_advantage() -> None:
    run = score_run([*session(0, [500, 500, 500]), *session(7, [500, 500, 500, 600, 600, 600])])
    assert [score.value for score in run.scores] == [500.0, 500.0]
    assert run.tries == 3
    assert list(run.days) == [0, 7]
    assert any("first 3 reps" in caution for caution in run.cautions)


def test_a_session_of_few_reps_is_left_out_and_said() -> None:
    run = score_run([*camp([500, 510]), *session(20, [700])])
    assert [score.value for score in run.scores] == [500, 510]
    assert any("1 of 3 sessions" in caution for caution in run.cautions)


@pytest.mark.parametrize(("reps", "words"), [(1, "One rep"), (2, "only 2 reps")])
def test_averages_of_few_say_so(reps: int, words: str) -> None:
    run = score_run(camp([500, 510], reps=reps))
    assert len(run.scores) == 2
    assert any(words in caution for caution in run.cautions)


def test_common_part_cancels_within_a_certificate_and_adds_between_two() -> None:
    one = score_run(camp([500, 550], u_common=5.0)).scores
    assert common_part(one, [-1.0, 1.0])[0] == pytest.approx(0.0, abs=1e-12)
    two = [
        *session(0, [500] * 3, u_common=5.0),
        *session(7, [550] * 3, u_common=5.0, certificate="c2"),
    ]
    run = score_run(two)
    u, dof = common_part(run.scores, [-1.0, 1.0])
    assert u == pytest.approx(5.0 * math.sqrt(2.0))
    assert math.isinf(dof)
    assert any("2 calibrations" in caution for caution in run.cautions)


def test_forces_without_certificate_share_nothing_between_sessions() -> None:
    run = score_run(camp([500, 550], certificate=None, u_common=5.0))
    assert common_part(run.scores, [-1.0, 1.0])[0] == pytest.approx(5.0 * math.sqrt(2.0))


def test_dof_of_the_certificate_come_back_out_of_the_whole() -> None:
    # u_own 3, u_common 4, nu_common 6: effective 6 x (5 / 4)^4
    reps = session(0, [500] * 3, u_own=3.0, u_common=4.0, dof=6.0 * (5.0 / 4.0) ** 4)
    part = score_of(reps).common[0]
    assert (part.u, part.dof) == pytest.approx((4.0, 6.0))
    assert common_part([score_of(reps)], [1.0]) == pytest.approx((4.0, 6.0))
