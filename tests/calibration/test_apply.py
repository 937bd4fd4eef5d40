from __future__ import annotations

import math
import warnings
from typing import TYPE_CHECKING

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.calibration.apply import BY_HAND, HIDDEN_BEND, Calibration
from strikebridge.calibration.certificate import (
    CREEP,
    BudgetTerm,
    Cell,
    Certificate,
    plain_certificate,
)
from strikebridge.errors import CalibrationError
from strikebridge.samples import Flag, Quantity, TimedBlock

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

MADE_AT = "2026-03-01T18:30:00+01:00"


def block(counts: ArrayLike, flags: list[int] | None = None) -> TimedBlock:
    counts = np.asarray(counts, dtype=np.float64)
    if counts.ndim == 1:
        counts = counts[:, np.newaxis]
    n = len(counts)
    return TimedBlock(
        number=np.arange(n),
        time_s=np.arange(n) / 80.0,
        counts=counts,
        flags=np.array(flags if flags is not None else [0] * n, dtype=np.uint16),
        rate_hz=80.0,
    )


def straight(**fields: object) -> Certificate:
    made = plain_certificate(
        0.005, 1000.0, made_at=MADE_AT, range_N=(0.0, 500.0), u_relative=0.01
    )
    return msgspec.structs.replace(made, **fields)


CURVED_CELL = Cell(
    (8000.0, 200.0, -0.01), ((9.0, 0.0, 0.0), (0.0, 4e-4, -6e-7), (0.0, -6e-7, 1e-9)), 3.0, 9.0
)


def curved(cell: Cell = CURVED_CELL, channels: int = 1) -> Certificate:
    return Certificate(made_at=MADE_AT, cells=(cell,) * channels, range_N=(0.0, 800.0))


def test_a_straight_certificate_gives_force_and_both_doubts() -> None:
    certificate = straight()
    force = Calibration.from_certificate(certificate).feed(block([1000.0, 21000.0, -19000.0]))
    np.testing.assert_allclose(force.force_N, [0.0, 100.0, -100.0], atol=1e-12)
    np.testing.assert_array_equal(force.cells_N[:, 0], force.force_N)
    np.testing.assert_allclose(force.u_common_N, [0.0, 1.0, 1.0], atol=1e-12)
    # one count is 0.005 N; d / (2 sqrt 3), JCGM 100:2008, 4.3.7
    np.testing.assert_allclose(force.u_own_N, 0.005 / math.sqrt(12.0))
    assert force.calibration == certificate.id
    assert force.rate_hz == 80.0
    assert force.dof_common == math.inf
    assert not force.flags.any()


def test_degrees_of_freedom_and_channels_come_from_the_certificate() -> None:
    calibration = Calibration.from_certificate(straight(dof_common=7.5, rating_N=900.0))
    assert calibration.feed(block([1000.0])).dof_common == 7.5
    assert calibration.channels == 1
    assert calibration.rating_N == 900.0
    assert calibration.certificate is not None


def test_a_certificate_says_whether_it_holds_the_creep_of_the_cell() -> None:
    plates, none, some = (
        BudgetTerm("plates", 2.0),
        BudgetTerm(CREEP, 0.0),
        BudgetTerm(CREEP, 0.2),
    )
    for budget, has_creep in [((), False), ((plates, none), False), ((plates, some), True)]:
        assert Calibration.from_certificate(straight(budget=budget)).has_creep is has_creep
    assert not Calibration.by_hand(0.005).has_creep


def test_gain_shape_and_plates_add_as_squares() -> None:
    cell = Cell((1000.0, 200.0), ((100.0, -1.0), (-1.0, 4.0)))
    certificate = straight(cells=(cell,), u_shape_N=5.0)
    force = Calibration.from_certificate(certificate).feed(block([81000.0]))
    # F = 400 N: gain 400 x 2/200, plates 1 %, shape 5 N from 125 N on
    expected = math.sqrt(4.0**2 + 4.0**2 + 5.0**2)
    np.testing.assert_allclose(force.u_common_N, expected)


@pytest.mark.parametrize("cell", [CURVED_CELL, Cell((5.0, -3.0, 1e-4), ((0.0,) * 3,) * 3)])
def test_a_curve_is_inverted(cell: Cell) -> None:
    loads = np.array([-100.0, 0.0, 1.0, 250.0, 800.0])
    c0, c1, c2 = cell.coefficients
    force = Calibration.from_certificate(curved(cell)).feed(
        block(c0 + c1 * loads + c2 * loads**2)
    )
    np.testing.assert_allclose(force.force_N, loads, atol=1e-9)


def test_the_doubt_of_a_curve_is_that_of_an_independent_propagation() -> None:
    # the same by finite differences over c1 and c2 at a fixed reading above zero
    load = 600.0
    c0, c1, c2 = CURVED_CELL.coefficients
    reading = c0 + c1 * load + c2 * load**2
    force = Calibration.from_certificate(curved()).feed(block([reading]))

    def solve(gain: float, bend: float) -> float:
        return (-gain + math.sqrt(gain**2 + 4.0 * bend * (reading - c0))) / (2.0 * bend)

    gradient = np.array(
        [
            (solve(c1 + 1e-3, c2) - solve(c1 - 1e-3, c2)) / 2e-3,
            (solve(c1, c2 + 1e-7) - solve(c1, c2 - 1e-7)) / 2e-7,
        ]
    )
    covariance = np.array(CURVED_CELL.covariance)[1:, 1:]
    expected = math.sqrt(gradient @ covariance @ gradient)
    np.testing.assert_allclose(force.u_common_N, expected, rtol=1e-6)


def test_beyond_the_vertex_the_force_still_grows_and_is_flagged() -> None:
    # the vertex is at 10 000 N, reading 1 008 000
    force = Calibration.from_certificate(curved()).feed(block([900_000.0, 1.1e6, 1.2e6]))
    assert np.all(np.diff(force.force_N) > 0.0)
    assert np.all(force.flags == Flag.EXTRAPOLATED)


def test_above_the_largest_load_it_is_flagged_and_widened() -> None:
    force = Calibration.from_certificate(straight()).feed(
        block([101_000.0, 101_001.0, 301_000.0])
    )
    assert list(force.flags) == [0, Flag.EXTRAPOLATED, Flag.EXTRAPOLATED]
    hidden = HIDDEN_BEND * 500.0
    expected = math.sqrt(15.0**2 + hidden**2 * (3.0**4 - 1.0))
    np.testing.assert_allclose(force.u_common_N[2], expected)
    # no jump at the border
    np.testing.assert_allclose(force.u_common_N[1], 5.0, rtol=1e-4)


def test_a_known_bend_grows_with_the_square_of_the_load() -> None:
    certificate = straight(u_relative=0.0, u_shape_N=2.0)
    force = Calibration.from_certificate(certificate).feed(
        block([11_000.0, 51_000.0, 201_000.0])
    )
    np.testing.assert_allclose(force.u_common_N, [0.8, 2.0, 8.0])


def test_over_the_rating_and_saturated_are_both_said() -> None:
    calibration = Calibration.from_certificate(straight(rating_N=400.0))
    force = calibration.feed(block([80_000.0, 82_000.0, -80_000.0], [0, Flag.SATURATED, 0]))
    assert list(force.flags) == [0, Flag.SATURATED | Flag.OVER_RATING, Flag.OVER_RATING]


def test_one_cell_of_four_over_its_rating_is_enough() -> None:
    made = plain_certificate(0.005, 0.0, made_at=MADE_AT, range_N=(0.0, 2000.0), channels=4)
    calibration = Calibration.from_certificate(msgspec.structs.replace(made, rating_N=400.0))
    assert calibration.rating_N == 1600.0
    force = calibration.feed(block([[82_000.0, 0, 0, 0], [70_000.0, 70_000.0, 0, 0]]))
    assert list(force.flags) == [Flag.OVER_RATING, 0]
    np.testing.assert_allclose(force.force_N, [410.0, 700.0])


def test_four_cells_are_summed_with_independent_fits_and_common_plates() -> None:
    cell = Cell((0.0, 200.0), ((0.0, 0.0), (0.0, 4.0)))
    certificate = Certificate(
        made_at=MADE_AT, cells=(cell,) * 4, range_N=(0.0, 800.0), u_relative=0.02
    )
    force = Calibration.from_certificate(certificate).feed(block([[20_000.0] * 4]))
    # each cell 100 N with 1 % of its own, 2 % of the 400 N is common
    np.testing.assert_allclose(force.force_N, [400.0])
    np.testing.assert_allclose(force.u_common_N, math.sqrt(4 * 1.0**2 + 8.0**2))
    np.testing.assert_allclose(force.u_own_N, 2.0 / 200.0 / math.sqrt(12.0))


def test_a_glitch_is_no_force() -> None:
    flags = [0, Flag.BAD_WORD, Flag.GAP_BEFORE]
    calibration = Calibration.from_certificate(straight(rating_N=400.0))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        force = calibration.feed(block([1000.0, 8e6, 1000.0], flags))
    assert np.isnan(force.force_N[1])
    assert np.isnan(force.cells_N[1, 0])
    assert list(force.flags) == flags
    np.testing.assert_allclose(force.force_N[[0, 2]], 0.0)


def test_a_glitch_in_one_of_two_curved_cells_takes_the_sum_with_it() -> None:
    calibration = Calibration.from_certificate(curved(channels=2))
    force = calibration.feed(block([[8000.0, 8000.0], [8000.0, 0.0]], [0, Flag.BAD_WORD]))
    np.testing.assert_allclose(force.force_N[0], 0.0)
    assert np.isnan(force.force_N[1])


def test_the_callers_block_is_never_written_to() -> None:
    counts = np.array([[1000.0], [2000.0]])
    flags = np.array([Flag.BAD_WORD, 0], dtype=np.uint16)
    sent = TimedBlock(np.arange(2), np.arange(2) / 80.0, counts, flags, 80.0)
    Calibration.of_quantity(Quantity.N).feed(sent)
    np.testing.assert_array_equal(counts, [[1000.0], [2000.0]])
    np.testing.assert_array_equal(flags, [Flag.BAD_WORD, 0])


def test_by_hand_is_exact() -> None:
    calibration = Calibration.by_hand(-2e-3, -500.0)
    force = calibration.feed(block([-500.0, -50_500.0]))
    np.testing.assert_allclose(force.force_N, [0.0, 100.0])
    assert not force.u_own_N.any()
    assert not force.u_common_N.any()
    assert force.calibration == calibration.id == BY_HAND
    assert calibration.rating_N is None
    two = calibration.feed(block([[-500.0, -50_500.0]]))
    np.testing.assert_allclose(two.force_N, [100.0])
    assert not two.u_common_N.any()


@pytest.mark.parametrize(
    ("gain", "zero", "word"),
    [
        (0.0, 0.0, "gain"),
        (math.nan, 0.0, "gain"),
        (math.inf, 0.0, "gain"),
        (1.0, math.nan, "zero"),
    ],
)
def test_a_gain_by_hand_that_is_none_is_refused(gain: float, zero: float, word: str) -> None:
    with pytest.raises(CalibrationError, match=word):
        Calibration.by_hand(gain, zero)


@pytest.mark.parametrize(
    ("quantity", "newtons"),
    # exact: 3rd CGPM 1901 and the 1959 agreement on the pound
    [
        (Quantity.N, 1.0),
        (Quantity.KG, 9.80665),
        (Quantity.G, 0.00980665),
        (Quantity.LB, 4.4482216152605),
    ],
)
def test_readings_that_are_forces_are_taken_at_their_word(
    quantity: Quantity, newtons: float
) -> None:
    force = Calibration.of_quantity(quantity).feed(block([1.0]))
    np.testing.assert_allclose(force.force_N, newtons, rtol=1e-15)
    assert force.calibration is None


@pytest.mark.parametrize(
    ("quantity", "words"), [(Quantity.COUNT, "raw counts"), (Quantity.UNKNOWN, "unit")]
)
def test_readings_that_are_no_forces_need_more(quantity: Quantity, words: str) -> None:
    with pytest.raises(CalibrationError, match=words):
        Calibration.of_quantity(quantity)


def test_the_wrong_number_of_cells_names_both() -> None:
    calibration = Calibration.from_certificate(straight())
    with pytest.raises(CalibrationError, match=r"sends 2 cells.*is for 1\."):
        calibration.feed(block([[1.0, 2.0]]))


def test_a_certificate_for_other_readings_is_refused() -> None:
    with pytest.raises(CalibrationError, match="readings in count, this board sends kg"):
        Calibration.from_certificate(straight(), Quantity.KG)
    same = Calibration.from_certificate(straight(), Quantity.COUNT)
    assert same.quantity is Quantity.COUNT


def test_an_empty_block_is_an_empty_block() -> None:
    for calibration in (Calibration.from_certificate(straight()), Calibration.by_hand(1.0)):
        assert len(calibration.feed(block(np.empty((0, 1))))) == 0


@given(
    st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=30),
    st.integers(1, 30),
    st.booleans(),
)
def test_any_block_size_gives_the_same(counts: list[float], size: int, is_curved: bool) -> None:
    certificate = curved() if is_curved else straight(rating_N=600.0)
    calibration = Calibration.from_certificate(certificate)
    whole = calibration.feed(block(counts))
    parts = [
        calibration.feed(block(counts[start : start + size]))
        for start in range(0, len(counts), size)
    ]
    for name in ("force_N", "u_own_N", "u_common_N", "flags"):
        joined = np.concatenate([getattr(part, name) for part in parts])
        np.testing.assert_array_equal(joined, getattr(whole, name))


STRAIGHT = Calibration.from_certificate(straight())
SHAPED = Calibration.from_certificate(straight(u_shape_N=5.0))
RATED = Calibration.from_certificate(straight(rating_N=90.0))
LONE: dict[str, tuple[Calibration, float, Flag]] = {
    "plain": (STRAIGHT, 21000.0, Flag(0)),
    "pulled": (STRAIGHT, -19000.0, Flag(0)),
    "with a shape": (SHAPED, 5000.0, Flag(0)),
    "shape whole": (SHAPED, 81000.0, Flag(0)),
    "bad word": (STRAIGHT, 21000.0, Flag.BAD_WORD),
    "saturated": (STRAIGHT, 21000.0, Flag.SATURATED),
    "at the end of the range": (STRAIGHT, 101_000.0, Flag(0)),
    "over the range": (STRAIGHT, 101_001.0, Flag(0)),
    "over the rating": (
        RATED,
        21000.0,
        Flag(0),
    ),
    "pulled over it": (
        RATED,
        -21000.0,
        Flag(0),
    ),
    "by hand": (Calibration.by_hand(-0.005, 1000.0), 21000.0, Flag(0)),
    "by hand, rated": (Calibration.by_hand(0.005, 1000.0).rated(90.0), 21000.0, Flag(0)),
    "no reading": (STRAIGHT, math.nan, Flag(0)),
    "curved": (Calibration.from_certificate(curved()), 60_000.0, Flag(0)),
    "in kilograms": (Calibration.of_quantity(Quantity.KG), 12.5, Flag(0)),
}


@pytest.mark.parametrize("name", LONE)
def test_a_reading_that_comes_alone_is_calibrated_like_any_other(name: str) -> None:
    calibration, reading, flag = LONE[name]
    one = block([reading], [int(flag)])
    alone, among = calibration.feed(one), calibration._feed_many(one)
    for field in ("number", "time_s", "force_N", "cells_N", "u_own_N", "u_common_N", "flags"):
        ours, theirs = getattr(alone, field), getattr(among, field)
        np.testing.assert_array_equal(ours, theirs, err_msg=field, strict=True)
    assert (alone.rate_hz, alone.calibration, alone.dof_common) == (
        among.rate_hz,
        among.calibration,
        among.dof_common,
    )
