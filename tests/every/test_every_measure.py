"""What every measure must have; nobody edits this to add one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from strikebridge.measures import measure
from strikebridge.measures.run import MEASURES
from strikebridge.measures.table import Estimate, Withheld
from strikebridge.measures.table import measure as entered
from strikebridge.samples import Effort, Prescription, Status
from tests.made_holds import held, snap

UCUM = {"N", "s", "N/s", "N.s", "%", "%/s"}
PROMISED = [
    "peak_force",
    "time_to_peak",
    "time_to_90",
    "rfd_50",
    "rfd_100",
    "rfd_150",
    "rfd_200",
    "rfd_250",
    "peak_rfd",
    "impulse_100",
    "impulse_200",
    "impulse_hold",
    "preload",
    "hold_mean",
    "steadiness",
    "sag",
    "held_time",
    "hold_quality",
    "snap_share",
    "let_go_time",
    "reaction",
]
BAND = Prescription(Effort.SUBMAXIMAL, 3.0, (250.0, 320.0))
HOLDS = {
    "good": lambda: held(snap, go_s=1.2),
    "slow": lambda: held(snap, rate_hz=10.0, settling_s=0.4, go_s=1.2),
    "cheap": lambda: held(snap, rate_hz=80.0, settling_s=0.05, noise_N=1.0, u_zero_N=0.5),
    "no onset": lambda: held(snap, onset_sure=False),
    "no release": lambda: held(snap, release_s=None),
    "short": lambda: held(snap, hold_s=0.55),
}


def test_those_promised_come_first_and_in_order() -> None:
    assert list(MEASURES)[: len(PROMISED)] == PROMISED


@pytest.mark.parametrize("name", list(MEASURES))
def test_definition_uncertainty_and_reference_are_written_down(name: str) -> None:
    definition = MEASURES[name]
    assert definition.unit in UCUM
    assert definition.version >= 1
    for part in ("Definition:", "Uncertainty:", "Reference:"):
        assert part in definition.text


@pytest.mark.parametrize("kind", list(HOLDS))
@pytest.mark.parametrize("prescription", [Prescription(), BAND], ids=["free", "band"])
def test_each_is_present_and_finite_or_withheld_with_a_reason(
    kind: str, prescription: Prescription
) -> None:
    values = measure(HOLDS[kind](), prescription)
    assert list(values) == list(MEASURES)
    for name, found in values.items():
        assert (found.name, found.unit) == (name, MEASURES[name].unit)
        if found.status is Status.WITHHELD:
            assert (found.value, found.u_own, found.u_common, found.u95) == (None,) * 4
            assert len(found.reason) > 10
            continue
        assert found.value is not None
        assert math.isfinite(found.value)
        assert found.u95 is not None
        assert math.isfinite(found.u95)
        assert found.u95 >= 0.0
        assert 1.5 < found.coverage < 13.0
        assert bool(found.reason) == (found.status is Status.COARSE)


@pytest.mark.parametrize("name", list(MEASURES))
def test_values_do_not_depend_on_the_certificate_but_their_uncertainty_may(name: str) -> None:
    with_doubt = measure(held(snap, go_s=1.0, block={"relative_u": 0.02}), BAND)[name]
    without = measure(held(snap, go_s=1.0), BAND)[name]
    assert with_doubt.value == without.value
    assert with_doubt.u_own == without.u_own
    assert without.u_common == 0.0
    if with_doubt.unit in ("N", "N/s", "N.s") and with_doubt.value:
        # everything linear in the force carries the relative doubt of the gain
        assert with_doubt.u_common == pytest.approx(0.02 * abs(with_doubt.value), rel=2e-3)
    elif name != "hold_quality":
        assert with_doubt.u_common == 0.0


def test_a_name_can_be_given_only_once() -> None:
    with pytest.raises(ValueError, match="already a measure named 'peak_force'"):
        entered("peak_force", "N", 1)(lambda _view: Withheld("never"))


def test_own_doubts_combine_by_root_sum_of_squares() -> None:
    estimate = Estimate(1.0, normal=(3.0,), rectangular=(4.0,))
    assert estimate.u_own == pytest.approx(np.sqrt(25.0))
