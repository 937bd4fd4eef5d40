from __future__ import annotations

import numpy as np
import pytest

from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.rating import RatingWatch, Strain, rated, rating_of
from strikebridge.samples import Event, Flag, ForceBlock, Quantity, TimedBlock

RATING_N = 1000.0


def timed(*rows: tuple[float, ...]) -> TimedBlock:
    n = len(rows)
    return TimedBlock(
        np.arange(n), np.arange(n) / 80.0, np.array(rows), np.zeros(n, np.uint16), 80.0
    )


def force(*rows: tuple[float, ...]) -> ForceBlock:
    return Calibration.by_hand(1.0).feed(timed(*rows))


def watched(*loads: float) -> list[tuple[bool, Strain]]:
    watch = RatingWatch(RATING_N)
    return [(watch.feed(force((load,))), watch.strain) for load in loads]


@pytest.mark.parametrize(
    ("loads", "begins", "ends_in"),
    [
        ((0.0, 790.0), 0, Strain.FINE),
        ((800.0,), 0, Strain.NEAR),
        ((999.0, 1000.0), 0, Strain.NEAR),  # the rating itself is allowed
        ((1001.0,), 0, Strain.NEAR),  # one reading may be a glitch
        ((1001.0, 500.0, 1001.0), 0, Strain.NEAR),
        ((1001.0, 1002.0), 1, Strain.OVER),
        ((1001.0, 1002.0, 900.0), 1, Strain.OVER),  # still under the same load
        ((1001.0, 1002.0, 900.0, 1300.0, 1300.0), 1, Strain.OVER),
        ((1001.0, 1002.0, 799.0), 1, Strain.FINE),
        ((1001.0, 1002.0, 0.0, 1300.0, 1300.0), 2, Strain.OVER),
        ((-1001.0, -1002.0), 1, Strain.OVER),  # a pull bends it as well
    ],
)
def test_what_is_said_at_which_load(
    loads: tuple[float, ...], begins: int, ends_in: Strain
) -> None:
    said = watched(*loads)
    assert sum(began for began, _ in said) == begins
    assert said[-1][1] is ends_in


def test_the_size_of_the_blocks_does_not_matter() -> None:
    draw = np.random.default_rng(3)
    loads = draw.uniform(600.0, 1200.0, 400)
    whole = RatingWatch(RATING_N)
    whole.feed(force(*((load,) for load in loads)))
    single = RatingWatch(RATING_N)
    for load in loads:
        single.feed(force((load,)))
    assert (whole.strain, whole.most_N) == (single.strain, single.most_N)
    assert whole.most_N > RATING_N


def test_the_largest_load_of_the_overload_is_kept() -> None:
    watch = RatingWatch(RATING_N)
    for load in (1100.0, 1100.0, 1500.0, 1200.0, 0.0):
        watch.feed(force((load,)))
    assert watch.most_N == 1500.0


def test_each_cell_counts_for_itself_and_glitches_for_nothing() -> None:
    watch = RatingWatch(RATING_N)
    assert not watch.feed(force((900.0, 700.0), (900.0, 700.0)))
    assert watch.strain is Strain.NEAR
    glitch = timed((2000.0, 0.0), (2000.0, 0.0), (1001.0, 0.0), (1001.0, 0.0))
    glitch.flags[:2] = Flag.BAD_WORD
    block = Calibration.by_hand(1.0).feed(glitch)
    one_by_one = RatingWatch(RATING_N)
    assert one_by_one.feed(block)
    assert one_by_one.most_N == 1001.0


def test_a_rating_given_by_hand_flags_and_leaves_the_original_alone() -> None:
    plain = Calibration.of_quantity(Quantity.N)
    other = plain.rated(500.0)
    assert list(other.feed(timed((499.0,), (501.0,))).flags) == [0, Flag.OVER_RATING]
    assert list(plain.feed(timed((501.0,))).flags) == [0]
    assert other.rating_N == 500.0
    assert plain.rating_N is None


def test_the_rating_survives_the_recording() -> None:
    event = rated(1961.33, 7)
    assert rating_of(event) == 1961.33
    for cell_N in (None, "many", 0, -5.0, float("nan")):
        assert rating_of(Event("rated", 0, {"cell_N": cell_N})) is None
