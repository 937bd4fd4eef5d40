"""A calibration in use: published data through the command, and propagation by a library.

Sources of the data sets and their certified values: tests/outside/published_fits.py and
test_calibration_fit.py. The library is `uncertainties` (linear propagation with correlations),
SciPy is held against for distributions.
"""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

import msgspec
import numpy as np
import pytest
import uncertainties
from scipy import stats

from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.budget import rectangular_u, step_u, t_factor
from strikebridge.calibration.certificate import Cell, plain_certificate
from strikebridge.calibration.document import calibrate_points
from strikebridge.calibration.fit import fit_curve
from strikebridge.calibration.gravity import given_gravity
from strikebridge.calibration.points_table import parse_points
from strikebridge.cli import run
from strikebridge.samples import TimedBlock
from tests.outside.published_fits import (
    NORRIS,
    PONTIUS_DEFLECTION,
    PONTIUS_LOAD,
    THERMOMETER,
)

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.samples import Floats

NINE_DIGITS = 1e-9


def by_command(
    path: Path, capsys: pytest.CaptureFixture[str], load: Floats, reading: Floats, *words: str
) -> dict[str, Any]:
    rows = (f"{x!r},{y!r}" for x, y in zip(load.tolist(), reading.tolist(), strict=True))
    path.write_text("\n".join(["force_N,reading", *rows]), "utf-8")
    assert run(["calibrate", "--points", str(path), "--json", *words]) == 0
    document = json.loads(capsys.readouterr().out)
    assert isinstance(document, dict)
    return document


def values(document: dict[str, Any], what: str) -> list[float]:
    return [one[what] for one in document["coefficients"]]


def test_pontius_by_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # NIST StRD Pontius, certified; 4.6.1 of the NIST/SEMATECH e-Handbook for F (value from
    # memory, recomputed) and for the inverse use of 1.239722
    found = by_command(
        tmp_path / "p.csv", capsys, PONTIUS_LOAD, PONTIUS_DEFLECTION, "--at", "1.239722"
    )
    assert found["degree"] == 2  # chosen by the points
    np.testing.assert_allclose(
        values(found, "value"),
        [0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14],
        rtol=NINE_DIGITS,
    )
    np.testing.assert_allclose(
        values(found, "u"),
        [0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16],
        rtol=NINE_DIGITS,
    )
    assert found["residual_sd"] == pytest.approx(0.205177424076185e-03, rel=NINE_DIGITS)
    assert found["r_squared"] == pytest.approx(0.999999900178537, rel=1e-12)
    assert found["lack_of_fit"]["F"] == pytest.approx(0.810724, abs=5e-7)
    assert found["lack_of_fit"]["p"] == pytest.approx(
        stats.f.sf(found["lack_of_fit"]["F"], 17, 20), rel=1e-9
    )
    assert found["at"][0]["force_N"] == pytest.approx(1705105.569, abs=5e-4)
    line = by_command(
        tmp_path / "l.csv", capsys, PONTIUS_LOAD, PONTIUS_DEFLECTION, "--degree", "1"
    )
    assert line["lack_of_fit"]["F"] == pytest.approx(214.7469, abs=5e-5)


def test_norris_by_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # NIST StRD Norris, certified
    found = by_command(tmp_path / "n.csv", capsys, NORRIS[:, 0], NORRIS[:, 1], "--degree", "1")
    np.testing.assert_allclose(
        values(found, "value"), [-0.262323073774029, 1.00211681802045], rtol=NINE_DIGITS
    )
    np.testing.assert_allclose(
        values(found, "u"), [0.232818234301152, 0.429796848199937e-03], rtol=NINE_DIGITS
    )
    assert found["residual_sd"] == pytest.approx(0.884796396144373, rel=NINE_DIGITS)
    assert found["dof"] == 34


def test_thermometer_by_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # JCGM 100:2008, H.3: to the printed digits
    found = by_command(
        tmp_path / "t.csv",
        capsys,
        THERMOMETER[:, 0] - 20.0,
        THERMOMETER[:, 1],
        "--degree",
        "1",
    )
    y1, y2 = values(found, "value")
    u1, u2 = values(found, "u")
    assert y1 == pytest.approx(-0.1712, abs=5e-5)
    assert u1 == pytest.approx(0.0029, abs=5e-5)
    assert y2 == pytest.approx(0.00218, abs=5e-6)
    assert u2 == pytest.approx(0.00067, abs=5e-6)
    assert found["covariance"][0][1] / (u1 * u2) == pytest.approx(-0.930, abs=5e-4)


def test_inverse_use_agrees_with_the_library() -> None:
    # F from a reading: the positive root with correlated coefficients, linear propagation
    fit = fit_curve(PONTIUS_LOAD / 1e6, PONTIUS_DEFLECTION, 2)
    c0, c1, c2 = uncertainties.correlated_values(fit.coefficients, fit.covariance)
    other = 2.0 * (1.239722 - c0) / (c1 + (c1 * c1 + 4.0 * c2 * (1.239722 - c0)) ** 0.5)
    force = fit.invert(1.239722)
    assert force == pytest.approx(other.nominal_value, rel=1e-9)
    powers = force ** np.arange(3)
    u = math.sqrt(powers @ fit.covariance @ powers) / fit.slope(force)
    assert u == pytest.approx(other.std_dev, rel=1e-9)


def one_reading(*counts: float) -> TimedBlock:
    row = np.array([counts])
    return TimedBlock(np.arange(1), np.zeros(1), row, np.zeros(1, np.uint16), 80.0)


def test_the_common_part_of_a_live_force_agrees_with_the_library() -> None:
    # the zero is tracked, so gain and bend alone are uncertain, with their correlation
    fit = fit_curve(PONTIUS_LOAD / 1e3, PONTIUS_DEFLECTION, 2)
    certificate = msgspec.structs.replace(
        plain_certificate(1.0, 0.0, made_at="2026-03-01T18:30:00+01:00", range_N=(0.0, 3000.0)),
        cells=(
            Cell(
                tuple(fit.coefficients.tolist()),
                tuple(tuple(row) for row in fit.covariance.tolist()),
            ),
        ),
        u_relative=0.003,
    )
    force = Calibration.from_certificate(certificate).feed(one_reading(1.239722))
    c1, c2 = uncertainties.correlated_values(fit.coefficients[1:], fit.covariance[1:, 1:])
    scale = uncertainties.ufloat(1.0, 0.003)  # plates and gravity
    rise = 1.239722 - fit.coefficients[0]
    other = scale * 2.0 * rise / (c1 + (c1 * c1 + 4.0 * c2 * rise) ** 0.5)
    assert force.force_N[0] == pytest.approx(other.nominal_value, rel=1e-9)
    assert force.u_common_N[0] == pytest.approx(other.std_dev, rel=1e-9)


def test_several_cells_agree_with_the_library() -> None:
    gains = np.array([0.0045, 0.0052, 0.0048])
    relative = np.array([[4.0, -1.0, 0.5], [-1.0, 3.0, -0.2], [0.5, -0.2, 2.0]]) * 1e-6
    certificate = msgspec.structs.replace(
        plain_certificate(
            1.0,
            0.0,
            made_at="2026-03-01T18:30:00+01:00",
            range_N=(0.0, 5000.0),
            channels=3,
        ),
        cells=tuple(
            Cell((0.0, 1.0 / gain), ((0.0, 0.0), (0.0, 0.0))) for gain in gains.tolist()
        ),
        between_cells=tuple(tuple(row) for row in relative.tolist()),
    )
    counts = (60_000.0, 41_000.0, 25_000.0)
    force = Calibration.from_certificate(certificate).feed(one_reading(*counts))
    correlated = uncertainties.correlated_values(gains, relative * np.outer(gains, gains))
    other = sum(gain * count for gain, count in zip(correlated, counts, strict=True))
    assert force.force_N[0] == pytest.approx(other.nominal_value, rel=1e-9)
    assert force.u_common_N[0] == pytest.approx(other.std_dev, rel=1e-9)


@pytest.mark.parametrize("dof", [1.0, 2.5, 9.0, 18.998, 145.38])
def test_students_t_agrees_with_scipy(dof: float) -> None:
    assert t_factor(dof) == pytest.approx(float(stats.t.ppf(0.975, dof)), rel=1e-9)


@pytest.mark.parametrize(
    ("times", "limit_percent"), [(400, 0.25), (200, 0.5), (100, 1.0), (67, 1.5)]
)
def test_lowest_usable_force_by_resolution(times: int, limit_percent: float) -> None:
    # ISO 7500-1:1999 (IS 1828-1:2005): lowest force 400, 200, 100, 67 times the resolution r
    # for class 0.5, 1, 2, 3; ISO 7500-1:2018: relative resolution a = r / F at most 0.25, 0.5,
    # 1.0, 1.5 %. The live budget's own part there is a / (2 sqrt 3) (JCGM 100:2008, F.2.2.1).
    resolution_N = 0.37
    certificate = plain_certificate(
        resolution_N, 0.0, made_at="2026-03-01T18:30:00+01:00", range_N=(0.0, 1e4)
    )
    force = Calibration.from_certificate(certificate).feed(one_reading(float(times)))
    assert 100.0 * resolution_N / force.force_N[0] == pytest.approx(limit_percent, rel=5e-3)
    own = float(force.u_own_N[0] / force.force_N[0])
    assert 100.0 * own == pytest.approx(limit_percent / math.sqrt(12.0), rel=5e-3)
    assert step_u(resolution_N) == pytest.approx(force.u_own_N[0], rel=1e-12)


@pytest.mark.parametrize(
    ("name", "limits_g"),
    # OIML R 111-1:2004, maximum permissible errors of 1, 2, 5, 10, 20 and 50 kg
    [
        ("M1", (0.05, 0.1, 0.25, 0.5, 1.0, 2.5)),
        ("M2", (0.16, 0.3, 0.8, 1.6, 3.0, 8.0)),
        ("M3", (0.5, 1.0, 2.5, 5.0, 10.0, 25.0)),
    ],
)
def test_weights_of_a_class_in_the_budget(name: str, limits_g: tuple[float, ...]) -> None:
    # one weight of its class is a rectangle of its permissible error (JCGM 100:2008, 4.3.7)
    masses_kg = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
    shares = {"M1": 5e-5, "M2": 1.6e-4, "M3": 5e-4}
    for mass_kg, limit_g in zip(masses_kg, limits_g, strict=True):
        limit_kg = limit_g / 1000.0
        assert limit_kg / mass_kg == pytest.approx(shares[name], rel=0.07)  # as rounded there
        lines = ["mass_kg,reading,tolerance_kg,plates"]
        lines += [f"0,{500 + i},0," for i in range(2)]
        lines += [f"{mass_kg},{500 + 1e6 * mass_kg + i},{limit_kg},W" for i in range(2)]
        document = calibrate_points(parse_points("\n".join(lines)), gravity=given_gravity(9.81))
        budget = document["budget"]
        assert isinstance(budget, list)
        (plates,) = [term["u_N"] for term in budget if term["term"] == "plates"]
        assert plates == pytest.approx(9.81 * rectangular_u(limit_kg), rel=1e-3)
