"""What must not matter, does not: cuts, sign, offset, unit, and when the clocks began.

Whole streams go through the whole chain, from bytes or a table to the words.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from strikebridge.boards.address import make_decoder
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.calibration.apply import Calibration
from strikebridge.chunk_run import ChunkRun
from strikebridge.pipeline import Pipeline
from strikebridge.samples import Chunk, CountBlock, MeasureValue, Prescription, Quantity, Rep
from strikebridge.stream_setup import Setup

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.pipeline import Outcome
    from strikebridge.samples import Floats, Ints

GAIN_N_PER_COUNT = 0.01
SECONDS = 11.0
FEW = settings(max_examples=20, deadline=None)
# real rates: at 10.0 the 0.3 s of a definition would end right on a reading, and a microsecond
# decide whether that one belongs to it
SCENES = st.tuples(
    st.sampled_from([10.37, 80.9, 318.7]),
    st.floats(80.0, 900.0),
    st.sampled_from([0.02, 0.08, 0.5]),
    st.integers(0, 1000),
)


def force_of(rate_hz: float, peak_N: float, rise_s: float, seed: int) -> Floats:
    """Make a tap, then a hold from 4 s to 7.2 s, on a rig with noise and drift."""
    time_s = np.arange(round(SECONDS * rate_hz)) / rate_hz
    since_s = time_s - 4.0
    rise = 1.0 - np.exp(-np.clip(since_s, 0.0, None) / rise_s)
    fall = np.exp(-np.clip(since_s - 3.2, 0.0, 9.0) / 0.03)
    tap = 0.3 * ((time_s > 2.0) & (time_s < 2.2))
    noise_N = 0.3 * np.random.default_rng(seed).normal(size=len(time_s))
    return peak_N * (rise * fall * (since_s > 0.0) + tap) + noise_N + 0.05 * time_s


def counts_of(scene: tuple[float, float, float, int]) -> Ints:
    return np.rint(force_of(*scene) / GAIN_N_PER_COUNT).astype(np.int64)


def read(
    counts: Ints, rate_hz: float, gain: float, zero: float, start_s: float = 0.0
) -> list[Outcome]:
    """Run counts as if they stood in a table."""
    arrived_us = np.rint((start_s + np.arange(len(counts)) / rate_hz) * 1e6).astype(np.int64)
    block = CountBlock(
        np.arange(len(counts)),
        counts.astype(np.float64)[:, None],
        arrived_us,
        None,
        np.zeros(len(counts), np.uint16),
    )
    return run_block(block, Quantity.COUNT, Calibration.by_hand(gain, zero))


def run_block(
    block: CountBlock, quantity: Quantity, calibration: Calibration | None
) -> list[Outcome]:
    asked = Prescription(hold_s=3.0)
    pipeline = Pipeline(None, Setup(calibration=calibration, prescription=asked))
    return pipeline.feed_counts([block], quantity) + pipeline.finish()


def lines_of(counts: Ints, rate_hz: float, first_micros: int, first_number: int) -> list[bytes]:
    period_us = 1e6 / rate_hz
    return [
        close_line(
            b"S,%d,%d,%d"
            % (
                (first_number + n) % 2**16,
                (first_micros + round(n * period_us)) % 2**32,
                count,
            )
        )
        for n, count in enumerate(counts.tolist())
    ]


def run_bytes(records: Sequence[Sequence[Chunk]]) -> list[Outcome]:
    setup = Setup(
        calibration=Calibration.by_hand(GAIN_N_PER_COUNT), prescription=Prescription(hold_s=3.0)
    )
    pipeline = Pipeline(make_decoder("strikebridge-lines"), setup)
    found: list[Outcome] = []
    for batch in records:
        found += pipeline.feed(batch)
    return found + pipeline.finish()


def the_rep(outcomes: list[Outcome]) -> Rep:
    (rep,) = [one for one in outcomes if isinstance(one, Rep)]
    return rep


def everything(outcomes: list[Outcome]) -> list[object]:
    """Give all that was found, to be compared to the last bit."""
    found: list[object] = []
    for one in outcomes:
        if isinstance(one, Rep):
            hold = one.hold
            found += [hold.onset_s, hold.release_s, hold.force.force_N.tolist()]
            found += [dict(one.measures), one.bricks, one.verdict]
        else:
            found.append(one)
    return found


def assert_alike(a: Rep, b: Rep, *, later_s: float = 0.0, within: float = 1e-7) -> None:
    """Compare two reps, the second of which happened later, up to rounding."""
    assert b.hold.onset_s - later_s == pytest.approx(a.hold.onset_s, abs=within)
    assert (b.verdict.rise, b.verdict.hold) == (a.verdict.rise, a.verdict.hold)
    assert b.verdict.faults == a.verdict.faults
    for name, value in a.measures.items():
        assert_value_alike(value, b.measures[name], within)


def assert_value_alike(a: MeasureValue, b: MeasureValue, within: float) -> None:
    assert b.status is a.status, a.name
    size = max(abs(a.value or 0.0), a.u95 or 0.0)
    for one, other in ((a.value, b.value), (a.u95, b.u95)):
        if one is None:
            assert other is None
        else:
            assert other == pytest.approx(one, rel=within, abs=within * max(size, 1.0)), a.name


@FEW
@given(SCENES, st.lists(st.integers(1, 400), min_size=1, max_size=30), st.booleans())
def test_cuts_of_the_bytes_do_not_matter(
    scene: tuple[float, float, float, int], sizes: list[int], as_run: bool
) -> None:
    rate_hz = scene[0]
    lines = lines_of(counts_of(scene), rate_hz, 1000, 0)
    chunks = [Chunk("x", round(n * 1e6 / rate_hz) + 700, line) for n, line in enumerate(lines)]
    expected = everything(run_bytes([chunks]))
    pieces: list[Chunk] = []
    for chunk in chunks:
        # arrival is that of the last byte: cutting a line in two must leave it with its end
        cut = sizes[len(pieces) % len(sizes)] % len(chunk.data)
        pieces += [
            Chunk("x", chunk.arrived_us, part) for part in (chunk.data[:cut], chunk.data[cut:])
        ]
    batches: list[Sequence[Chunk]] = []
    at, turn = 0, 0
    while at < len(pieces):
        batch = pieces[at : at + sizes[turn % len(sizes)]]
        batches.append(run_of(batch) if as_run else batch)
        at, turn = at + len(batch), turn + 1
    assert everything(run_bytes(batches)) == expected


def run_of(chunks: Sequence[Chunk]) -> ChunkRun:
    ends = np.cumsum([len(chunk.data) for chunk in chunks], dtype=np.int64)
    stamps = np.array([chunk.arrived_us for chunk in chunks], np.int64)
    return ChunkRun("x", stamps, ends, b"".join(chunk.data for chunk in chunks))


@FEW
@given(SCENES, st.integers(-8_000_000, 500_000), st.booleans())
def test_offset_and_sign_of_the_counts_do_not_matter(
    scene: tuple[float, float, float, int], offset: int, is_turned: bool
) -> None:
    counts = counts_of(scene)
    plain = the_rep(read(counts, scene[0], GAIN_N_PER_COUNT, 0.0))
    sign = -1 if is_turned else 1
    other = sign * counts + offset
    assume(abs(other).max() < 8_388_607)
    gain = sign * GAIN_N_PER_COUNT
    known = the_rep(read(other, scene[0], gain, float(offset)))
    assert everything([known]) == everything([plain])
    # the zero is tracked: where it stood at first is nobody's business
    assert_alike(plain, the_rep(read(other, scene[0], gain, offset - 40_000.0)))


@FEW
@given(SCENES, st.sampled_from([Quantity.KG, Quantity.G, Quantity.LB]))
def test_the_unit_on_the_wire_does_not_matter(
    scene: tuple[float, float, float, int], quantity: Quantity
) -> None:
    per_newton = {Quantity.KG: 1.0, Quantity.G: 1e3, Quantity.LB: 1.0 / 0.45359237}[quantity]
    force_N = force_of(*scene)
    arrived_us = np.rint(np.arange(len(force_N)) * 1e6 / scene[0]).astype(np.int64)
    number, flags = np.arange(len(force_N)), np.zeros(len(force_N), np.uint16)
    reps = [
        the_rep(
            run_block(CountBlock(number, values[:, None], arrived_us, None, flags), what, None)
        )
        for values, what in (
            (force_N, Quantity.N),
            (force_N / 9.80665 * per_newton, quantity),
        )
    ]
    assert_alike(*reps)


@FEW
@given(SCENES, st.integers(0, 10**11))
def test_when_a_table_begins_does_not_matter(
    scene: tuple[float, float, float, int], later_us: int
) -> None:
    counts, later_s = counts_of(scene), later_us * 1e-6
    plain = the_rep(read(counts, scene[0], GAIN_N_PER_COUNT, 0.0))
    # stamps are whole microseconds, so the two differ by rounding
    later = the_rep(read(counts, scene[0], GAIN_N_PER_COUNT, 0.0, start_s=later_s))
    assert_alike(plain, later, later_s=later_s, within=2e-6)


@FEW
@given(SCENES, st.integers(0, 2**32 - 1), st.integers(0, 2**16 - 1), st.integers(0, 10**10))
def test_where_the_boards_counters_stand_does_not_matter(
    scene: tuple[float, float, float, int], micros: int, number: int, later_us: int
) -> None:
    counts, rate_hz = counts_of(scene), scene[0]
    reps = []
    for first_micros, first_number, late_us in ((0, 0, 0), (micros, number, later_us)):
        lines = lines_of(counts, rate_hz, first_micros, first_number)
        chunks = [
            Chunk("x", late_us + round(n * 1e6 / rate_hz) + 700, line)
            for n, line in enumerate(lines)
        ]
        reps.append(the_rep(run_bytes([chunks])))
    assert_alike(*reps, later_s=later_us * 1e-6)
