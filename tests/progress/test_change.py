"""Typical error, change, trend, readiness, worthwhile change, by hand-made numbers."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy.special import polygamma
from scipy.stats import t as student

from strikebridge.progress.change import change_between, change_since_baseline
from strikebridge.progress.estimate import (
    MARGIN,
    Estimate,
    Word,
    joined_dof,
    one_sided,
)
from strikebridge.progress.readiness import Readiness, readiness
from strikebridge.progress.score import Score, score_run
from strikebridge.progress.trend import weekly_trend, weights_of
from strikebridge.progress.typical_error import (
    ASSUMED,
    ErrorSource,
    OwnError,
    SquadError,
    TypicalError,
    differences_error,
    inverse_trigamma,
    own_error,
    pool,
    typical_error,
)
from strikebridge.progress.worthwhile import per_body_mass, smallest_worthwhile
from tests.progress.made_camps import camp, run_of, session

KNOWN = TypicalError(0.04, 20.0, 5, ErrorSource.OWN_AND_SQUAD)


@pytest.mark.parametrize(
    ("value", "word"),
    [
        (2.1, Word.REAL),
        (-2.1, Word.REAL),
        (1.5, Word.LIKELY),
        (-1.5, Word.LIKELY),
        (1.2, Word.CANNOT_TELL),
    ],
)
def test_words(value: float, word: Word) -> None:
    estimate = Estimate(value, "N", 1.0)
    assert estimate.word is word
    assert (estimate.low, estimate.high) == (value - 2.0, value + 2.0)


def test_one_sided_is_the_t_quantile_of_whole_dof() -> None:
    assert one_sided(0.95, 7.9) == pytest.approx(float(student.ppf(0.95, 7)))
    assert one_sided(0.95, math.inf) == pytest.approx(float(student.ppf(0.95, 60)))
    assert one_sided(0.95, 0.3) == pytest.approx(float(student.ppf(0.95, 1)))


def test_joined_dof_is_welch_satterthwaite() -> None:
    assert joined_dof([(3.0, 5.0), (4.0, math.inf)]) == pytest.approx(5.0 * (5.0 / 3.0) ** 4)
    assert math.isinf(joined_dof([(0.0, 5.0), (0.0, 3.0)]))


def test_error_of_three_tests_is_their_bend() -> None:
    # differences 12 and -6, mean 3: (81 + 81) / 3
    error, dof = differences_error([500.0, 512.0, 506.0])
    assert error == pytest.approx(math.sqrt(54.0))
    assert dof == pytest.approx(1.0)


def test_error_and_its_dof_are_those_of_simulation() -> None:
    rng = np.random.default_rng(3)
    n = 8
    rows = (np.arange(n) * 5 + rng.normal(size=(6000, n))).tolist()
    squares = np.array([differences_error(row)[0] ** 2 for row in rows])
    assert squares.mean() == pytest.approx(1.0, abs=0.03)
    dof = differences_error([float(i % 2) for i in range(n)])[1]
    assert 2.0 / squares.var() == pytest.approx(dof, rel=0.08)


def test_fewer_than_three_tests_have_no_error() -> None:
    with pytest.raises(ValueError, match="3 tests"):
        differences_error([1.0, 2.0])
    assert own_error(run_of([500, 510, 505]).scores) is None


def test_the_newest_test_is_not_in_its_own_error() -> None:
    usual, jump = (own_error(run_of([500, 512, 506, last]).scores) for last in (505, 900))
    assert usual == jump
    assert usual is not None


def test_equal_results_do_not_mean_certainty() -> None:
    found = own_error(run_of([500] * 5, u_own=0.0).scores)
    assert found is not None
    assert found.share == pytest.approx(0.002)
    measured = own_error(run_of([500] * 5, u_own=30.0).scores)
    assert measured is not None
    assert measured.share == pytest.approx(30.0 / math.sqrt(3.0) / 500.0)


def test_no_strength_no_error() -> None:
    assert own_error(run_of([0, 0, 0, 0]).scores) is None


def test_a_small_squad_gets_the_wide_default() -> None:
    assert pool([]) is ASSUMED
    assert ASSUMED.is_assumed
    assert pool([run_of([500, 512, 506, 500]).scores]) is ASSUMED
    zero = [run_of([0, 0, 0]).scores] * 9
    assert pool(zero) is ASSUMED


def test_two_tests_of_many_athletes_are_enough_for_the_squad() -> None:
    steps = [4.0, -4.0, 8.0, -8.0, 0.0, 6.0, -6.0, 2.0]
    runs = [run_of([500 - d / 2, 500 + d / 2, 700]).scores for d in steps]
    squad = pool(runs)
    assert squad.share == pytest.approx(float(np.std(steps, ddof=1)) / math.sqrt(2.0) / 500.0)
    assert squad.pooled_dof == 7.0
    assert squad.dof == 7.0


def test_a_squad_that_is_alike_pulls_hard_and_one_that_differs_softly() -> None:
    rng = np.random.default_rng(5)

    def runs(spread: float) -> list[tuple[Score, ...]]:
        shares = 0.04 * np.exp(spread * rng.normal(size=40))
        return [run_of(500.0 * (1 + share * rng.normal(size=12))).scores for share in shares]

    alike, different = pool(runs(0.0)), pool(runs(1.0))
    assert alike.dof == 12.0
    assert alike.share == pytest.approx(0.04, rel=0.1)
    assert different.dof < 5.0
    assert not different.is_assumed


def test_inverse_trigamma() -> None:
    for x in (0.1, 0.7, 3.0, 40.0):
        assert inverse_trigamma(float(polygamma(1, x))) == pytest.approx(x, rel=1e-9)


@pytest.mark.parametrize(
    ("own", "squad", "source"),
    [
        (None, ASSUMED, ErrorSource.ASSUMED),
        (None, SquadError(0.04, 8.0, 50.0), ErrorSource.SQUAD),
        (OwnError(0.03, 4.0, 6), ASSUMED, ErrorSource.OWN_AND_ASSUMED),
        (OwnError(0.03, 4.0, 6), SquadError(0.04, 8.0, 50.0), ErrorSource.OWN_AND_SQUAD),
    ],
)
def test_error_is_pulled_by_degrees_of_freedom(
    own: OwnError | None, squad: SquadError, source: ErrorSource
) -> None:
    error = typical_error(own, squad)
    assert error.source is source
    if own is not None:
        square = (4.0 * 0.03**2 + squad.dof * squad.share**2) / (4.0 + squad.dof)
        assert error.share == pytest.approx(math.sqrt(square))
        assert error.dof == 4.0 + squad.dof


def test_change_by_hand() -> None:
    change = change_since_baseline(run_of([490, 510, 500, 505, 500, 560]).scores, KNOWN)
    assert change is not None
    assert (change.before, change.now) == (500.0, 560.0)
    assert (change.tests_before, change.tests_now) == (3, 1)
    assert change.percent == pytest.approx(12.0)
    u = 530.0 * 0.04 * MARGIN * math.sqrt(1.0 / 3.0 + 1.0)
    assert change.estimate.u == pytest.approx(u)
    assert change.least_real == pytest.approx(float(student.ppf(0.975, 20)) * u)
    assert change.word is Word.REAL


def test_another_certificate_widens_the_change() -> None:
    scores = score_run(
        [
            *session(0, [500] * 3, u_common=20.0),
            *session(7, [560] * 3, u_common=20.0, certificate="c2"),
        ]
    ).scores
    same = score_run(camp([500, 560], u_common=20.0)).scores
    wide, narrow = change_since_baseline(scores, KNOWN), change_since_baseline(same, KNOWN)
    assert wide is not None
    assert narrow is not None
    assert wide.estimate.u == pytest.approx(math.hypot(narrow.estimate.u, 20 * math.sqrt(2)))
    assert wide.estimate.dof > narrow.estimate.dof


def test_change_takes_two() -> None:
    one = run_of([500]).scores
    assert change_since_baseline(one, KNOWN) is None
    with pytest.raises(ValueError, match="before and one now"):
        change_between([], one, KNOWN)


def test_trend_by_hand() -> None:
    run = run_of([500, 514, 500, 542], days_apart=7)
    trend = weekly_trend(run, KNOWN)
    assert trend is not None
    assert trend.value == pytest.approx(14.0)
    assert trend.unit == "N/wk"
    assert trend.u == pytest.approx(514.0 * 0.04 / math.sqrt(5.0 * 0.87))


def test_trend_takes_three_times() -> None:
    assert weekly_trend(run_of([500, 510]), KNOWN) is None
    same = run_of([500, 510, 520], days_apart=0)
    assert weekly_trend(same, KNOWN) is None


def test_trend_ends_with_a_recalibration_doubt() -> None:
    reps = [
        *camp([500, 500], u_common=20.0),
        *session(8, [500] * 3, u_common=20.0, certificate="c2"),
    ]
    trend = weekly_trend(score_run(reps), KNOWN)
    plain = weekly_trend(run_of([500, 500, 500], u_common=20.0), KNOWN)
    assert trend is not None
    assert plain is not None
    assert trend.u > plain.u


def test_weights_are_those_of_the_weighted_mean() -> None:
    assert weights_of(3, 0.3) == pytest.approx([0.49, 0.21, 0.3])
    assert weights_of(1) == [1.0]


def test_readiness_words() -> None:
    steady = [500, 500, 500, 500]
    flat = readiness(run_of([*steady, 400]).scores, KNOWN)
    ready = readiness(run_of([*steady, 540]).scores, KNOWN)
    unsure = readiness(run_of([*steady, 490]).scores, KNOWN)
    assert flat.word is Readiness.FLAT
    assert ready.word is Readiness.READY
    assert unsure.word is Readiness.CANNOT_TELL
    assert unsure.reason
    assert flat.level == pytest.approx(500.0)
    assert flat.tests == 4
    assert flat.matters == pytest.approx(25.0)
    assert readiness(run_of([*steady, 500]).scores, KNOWN, 90.0).word is Readiness.READY


def test_readiness_looks_back_four_weeks_only() -> None:
    found = readiness(run_of([500] * 4, days_apart=14).scores, KNOWN)
    assert (found.word, found.tests, found.change) == (Readiness.CANNOT_TELL, 2, None)
    assert found.reason == "2 of the 3 tests needed in the four weeks before it"
    with pytest.raises(ValueError, match="today"):
        readiness([], KNOWN)


def test_smallest_worthwhile_leaves_out_the_error_of_the_test() -> None:
    levels = [500.0 + 20.0 * i for i in range(12)]
    plain = float(np.var(levels, ddof=1))
    expected = 0.2 * math.sqrt(plain - (0.04 * float(np.mean(levels))) ** 2)
    assert smallest_worthwhile(levels, 0.04) == pytest.approx(expected)
    assert smallest_worthwhile(levels[:9], 0.04) is None
    assert smallest_worthwhile([500.0] * 12, 0.04) is None


def test_per_body_mass_takes_the_nearest_weighing() -> None:
    on = date(2026, 3, 2)
    strength = Estimate(700.0, "N", 7.0, 9.0)
    weighings = [(on - timedelta(days=20), 72.0), (on + timedelta(days=3), 70.0)]
    assert per_body_mass(strength, on, weighings) == Estimate(10.0, "N/kg", 0.1, 9.0)
    assert per_body_mass(strength, on, []) is None
    assert per_body_mass(strength, on + timedelta(days=90), weighings) is None
    assert per_body_mass(strength, on, [(on, 0.0)]) is None


def test_words_do_not_depend_on_the_unit() -> None:
    run = run_of([490, 510, 500, 505, 500, 560])
    scores = [replace(s, value=s.value * 0.2248, unit="[lbf_av]") for s in run.scores]
    pounds = replace(run, scores=tuple(scores))
    first, second = (change_since_baseline(r.scores, KNOWN) for r in (run, pounds))
    assert first is not None
    assert second is not None
    assert first.percent == pytest.approx(second.percent)
    assert first.word is second.word
