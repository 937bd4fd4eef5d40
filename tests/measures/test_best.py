"""Which gain is a new best: steps just inside and just outside its doubt, like with like."""

from __future__ import annotations

from dataclasses import replace

import pytest

from strikebridge.measures import LEVEL, NEW_BEST, against_best, largest
from strikebridge.samples import MeasureValue

# the certificate is the same: of 3 N that are common nothing stays in a difference
BEST = MeasureValue("peak_force", 800.0, "N", 3.0, 3.0, certificate="abc")
U95_N = 2.0 * (3.0**2 + 3.0**2) ** 0.5
WITHHELD = replace(BEST, value=None, u_own=None, u_common=None)


def gained(gain_N: float) -> MeasureValue:
    return replace(BEST, value=800.0 + gain_N)


@pytest.mark.parametrize(
    ("now", "words"),
    [
        (gained(U95_N + 0.01), NEW_BEST),
        (gained(U95_N - 0.01), LEVEL),
        (gained(0.0), LEVEL),
        (gained(0.01 - U95_N), LEVEL),
        (gained(-0.01 - U95_N), ""),
        (None, ""),
        (WITHHELD, ""),
        (replace(gained(100.0), name="hold_mean"), ""),
        (replace(gained(100.0), version=2), ""),
    ],
)
def test_a_best_is_new_beyond_its_doubt_alone(now: MeasureValue | None, words: str) -> None:
    assert against_best(now, BEST) == words


@pytest.mark.parametrize("best", [None, WITHHELD])
def test_without_a_best_nothing_is_said(best: MeasureValue | None) -> None:
    assert against_best(BEST, best) == ""


def test_the_first_of_equal_values_stays_the_largest() -> None:
    first, second = replace(BEST, certificate="first"), replace(BEST, certificate="second")
    assert largest([None, WITHHELD, gained(-5.0), first, second]) is first
    assert largest([None, WITHHELD]) is None
