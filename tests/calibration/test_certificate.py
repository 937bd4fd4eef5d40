"""What a certificate may hold, and how it is known."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from strikebridge.calibration.certificate import (
    BudgetTerm,
    Cell,
    Certificate,
    PointRecord,
    check_certificate,
    plain_certificate,
)
from strikebridge.calibration.certificate_file import save_certificate
from strikebridge.errors import CalibrationError
from tests.calibration.made_certificates import MADE_AT, full_certificate, with_cell, with_field

if TYPE_CHECKING:
    from pathlib import Path


def test_the_id_changes_with_any_content() -> None:
    ids = {
        full_certificate().id,
        with_field(note="").id,
        with_field(u_relative=0.0116).id,
        with_field(range_N=(0.0, 784.0)).id,
    }
    assert len(ids) == 4


@pytest.mark.parametrize(
    ("certificate", "why"),
    [
        (with_field(cells=()), "describes no cell"),
        (with_field(made_at="yesterday"), "its date"),
        (with_field(made_at="2026-03-01T18:30:00"), "its date"),
        (with_field(range_N=(5.0, 5.0)), "range of loads"),
        (with_field(range_N=(0.0, math.inf)), "range of loads"),
        (with_field(u_relative=-0.1), "its u_relative is -0.1"),
        (with_field(rating_N=math.nan), "its rating_N is nan"),
        (with_field(step=math.inf), "its step is inf"),
        (with_cell(coefficients=(1.0,)), "1 coefficients"),
        (with_cell(coefficients=(1.0, 2.0)), "not 2 by 2"),
        (with_cell(covariance=((1.0, 0.0), (0.0, 1.0), (0.0, 0.0))), "not 3 by 3"),
        (with_cell(coefficients=(1.0, math.nan, 0.0)), "not a number"),
        (with_cell(residual_sd=-1.0), "negative variance"),
        (
            with_cell(covariance=((-1.0, 0, 0), (0, 1.0, 0), (0, 0, 1.0))),
            "negative variance",
        ),
        (with_cell(coefficients=(1.0, 0.0, 0.0)), "does not change steadily"),
        (with_cell(coefficients=(1.0, 200.0, -0.2)), "does not change steadily"),
        (with_field(points=(PointRecord(math.nan, (1.0,)),)), "is not a number"),
        (with_field(dof_common=0.0), "no degrees of freedom"),
        (with_cell(dof=-1.0), "no degrees of freedom"),
        (with_field(budget=(BudgetTerm("x", 1.0, dof=math.inf),)), "is not a number"),
    ],
)
def test_impossible_figures_are_refused(
    certificate: Certificate, why: str, tmp_path: Path
) -> None:
    with pytest.raises(CalibrationError, match=why):
        check_certificate(certificate)
    with pytest.raises(CalibrationError, match=why):
        save_certificate(certificate, tmp_path / "cert.json")
    assert not list(tmp_path.iterdir())


def test_a_falling_cell_is_a_sound_one() -> None:
    check_certificate(with_cell(coefficients=(8021.0, -212.5, 0.0)))


def test_the_plain_certificate_is_the_inverse_gain() -> None:
    certificate = plain_certificate(
        -0.005, 1000.0, made_at=MADE_AT, range_N=(0.0, 500.0), u_relative=0.01, channels=4
    )
    assert certificate.cells == (Cell((1000.0, -200.0), ((0.0, 0.0), (0.0, 0.0))),) * 4
    assert certificate.cells[0].degree == 1
    assert certificate.u_relative == 0.01


@pytest.mark.parametrize("gain", [0.0, math.nan, math.inf])
def test_a_plain_gain_that_is_none_is_refused(gain: float) -> None:
    with pytest.raises(CalibrationError, match="gain"):
        plain_certificate(gain, 0.0, made_at=MADE_AT, range_N=(0.0, 500.0))
