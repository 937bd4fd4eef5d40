"""The gain of a check against a published uncertainty library and a proficiency-test rule."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from uncertainties import ufloat

from strikebridge.calibration.budget import combined_u, step_u
from strikebridge.calibration.certificate import (
    BudgetTerm,
    Cell,
    Certificate,
    PlateRecord,
    PointRecord,
)
from strikebridge.checks.expected import known_plates, plate_reference
from strikebridge.checks.judging import Levels, judge_check
from strikebridge.checks.level import Level
from strikebridge.samples import Quantity

G = 9.81
SLOPE = 200.0
MADE = Certificate(
    made_at="2026-03-01T18:00:00+01:00",
    quantity=Quantity.COUNT,
    cells=(Cell((8000.0, SLOPE), ((0.0, 0.0), (0.0, 0.0)), 5.0, 4.0),),
    range_N=(0.0, 20.0 * G),
    gravity_m_per_s2=G,
    u_gravity_m_per_s2=0.01,
    u_relative=0.004,
    plates=(PlateRecord("A", 20.0, 0.5),),
)


def level(reading: float, u: float) -> Level:
    return Level((reading,), (u,), 5, (10.0,), 240, 0.0, 3.0)


def without_creep(terms: tuple[BudgetTerm, ...]) -> float:
    return combined_u([term for term in terms if term.term != "creep and warmth"])


def test_another_plate_as_the_library_propagates_it() -> None:
    # uncertainties (Lebigot), a general-purpose library for error propagation
    zero, on = level(8000.0, 3.0), level(8000.0 + SLOPE * 20.0 * G, 4.0)
    check = judge_check(MADE, Levels(zero, on), plate_reference(MADE, 20.0, 0.2))
    assert check.gain is not None
    gravity = ufloat(G, 0.01)
    # what of the certificate is not gravity; gravity is one and the same on both sides
    rest = math.sqrt(0.004**2 - (0.01 / G) ** 2)
    slope = ufloat(SLOPE, SLOPE * rest) * (gravity / G)
    plate_kg = ufloat(20.0, 0.2 / math.sqrt(3.0))
    readings = ufloat(on.reading[0], 4.0) - ufloat(zero.reading[0], 3.0)
    error = readings / slope / (plate_kg * G * (G / gravity)) - 1.0
    ours = without_creep(check.gain.terms) / check.gain.expected_N
    assert check.gain.error == pytest.approx(error.nominal_value, abs=1e-12)
    assert ours == pytest.approx(error.std_dev, rel=1e-9)


def test_the_same_plate_cancels_as_in_the_library() -> None:
    readings = [8000.0, 47240.0, 8003.0, 47244.0, 8001.0, 47239.0]
    points = tuple(
        PointRecord(20.0 * G * (i % 2), (reading,), ("A",) if i % 2 else ())
        for i, reading in enumerate(readings)
    )
    made = msgspec.structs.replace(MADE, points=points)
    zero, on = level(8010.0, 0.0), level(47250.0, 0.0)
    check = judge_check(made, Levels(zero, on), known_plates(made, ["A"]))
    assert check.gain is not None
    empty, loaded = np.array(readings[::2]), np.array(readings[1::2])
    s = math.sqrt((empty.var(ddof=1) + loaded.var(ddof=1)) / 2.0)
    assert s > step_u(1.0)
    mass_kg = ufloat(20.0, 0.5 / math.sqrt(3.0))  # one variable, so that it cancels
    then = sum(ufloat(r, s) for r in loaded) / 3 - sum(ufloat(r, s) for r in empty) / 3
    gravity = ufloat(G, 0.01)
    slope = then / (mass_kg * gravity)
    now = ufloat(47250.0, s) - ufloat(8010.0, s)
    alike = now / slope / (mass_kg * gravity)
    ours = without_creep(check.gain.terms) / check.gain.expected_N
    assert check.gain.error == pytest.approx(alike.nominal_value - 1.0, abs=1e-12)
    # ours takes the relative doubt at the expected force, the library at the measured one
    assert ours == pytest.approx(alike.std_dev, rel=1e-4)


@pytest.mark.parametrize("share", [0.5, 0.99, 1.01, 2.0])
def test_moved_goes_beyond_the_proficiency_rule(share: float) -> None:
    # ISO 13528, E_n = (x - X) / sqrt(U_x^2 + U_X^2) with U at 95 %, action above 1 (value from
    # memory): a gain we call moved is always beyond it, one within it is never called moved
    zero = level(8000.0, 3.0)
    reference = plate_reference(MADE, 20.0, 0.2)
    sound = judge_check(MADE, Levels(zero, level(8000.0 + SLOPE * 20.0 * G, 3.0)), reference)
    assert sound.gain is not None
    moved = 1.0 + share * sound.gain.u95
    levels = Levels(zero, level(8000.0 + SLOPE * 20.0 * G * moved, 3.0))
    gain = judge_check(MADE, levels, reference).gain
    assert gain is not None
    e_n = gain.error / gain.u95
    assert e_n == pytest.approx(share, rel=1e-9)
    assert not (gain.has_moved and abs(e_n) <= 1.0)
    if share == 2.0:
        assert gain.has_moved
