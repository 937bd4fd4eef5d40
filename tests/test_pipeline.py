"""The one path: without a calibration, with gaps, and however records are grouped."""

from dataclasses import replace

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.boards.address import make_decoder
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.certificate import CREEP, BudgetTerm
from strikebridge.calls import prescribed
from strikebridge.errors import CalibrationError
from strikebridge.pipeline import Outcome, Pipeline
from strikebridge.recording import Header
from strikebridge.reports.analysis_json import rep_document
from strikebridge.samples import (
    Chunk,
    CountBlock,
    Effort,
    Event,
    Gap,
    Prescription,
    Quantity,
    Record,
    Rep,
)
from strikebridge.stream_setup import Setup, setup_for


def stream(seconds: float, model: BoardModel) -> tuple[SimulatedBoard, list[Record]]:
    board = SimulatedBoard(model)
    records: list[Record] = [Chunk("x", 0, board.identity_line())]
    records.append(prescribed(Prescription(Effort.MAXIMAL, 3.0), 1))
    while board.now_s < seconds:
        records += [Chunk("x", line.at_us, line.data) for line in board.next_lines()]
    return board, records


BOARD, RECORDS = stream(18.0, BoardModel(seed=4))


def run(records: list[Record], sizes: list[int]) -> list[object]:
    pipeline = Pipeline(
        make_decoder(), Setup(Calibration.from_certificate(BOARD.certificate()))
    )
    outcomes: list[Outcome] = []
    at = 0
    for size in [*sizes, len(records)]:
        outcomes += pipeline.feed(records[at : at + size])
        at += size
    outcomes += pipeline.finish()
    return [rep_document(one) if isinstance(one, Rep) else one for one in outcomes]


WHOLE = run(RECORDS, [])


@settings(max_examples=8, deadline=None)
@given(st.lists(st.integers(1, 400), max_size=8))
def test_how_records_are_grouped_does_not_matter(sizes: list[int]) -> None:
    assert run(RECORDS, sizes) == WHOLE


def test_one_record_at_a_time_gives_the_same() -> None:
    assert run(RECORDS, [1] * len(RECORDS)) == WHOLE
    assert len(WHOLE) == 2


def test_without_a_calibration_readings_are_counted_and_there_are_no_holds() -> None:
    pipeline = Pipeline(make_decoder(), Setup())
    outcomes = pipeline.feed(RECORDS) + pipeline.finish()
    assert pipeline.readings == len(RECORDS) - 2
    assert pipeline.calibration is None
    assert pipeline.detector is None
    assert not outcomes
    assert pipeline.settling_s == pytest.approx(0.05)
    assert pipeline.rate_hz == pytest.approx(BOARD.real_rate_hz, rel=0.002)


def test_lost_lines_are_gaps_at_their_place() -> None:
    dropped = set(range(400, 405)) | {900}
    kept = [record for n, record in enumerate(RECORDS) if n not in dropped]
    pipeline = Pipeline(make_decoder(), Setup())
    outcomes = pipeline.feed(kept) + pipeline.finish()
    gaps = [one for one in outcomes if isinstance(one, Gap)]
    assert [gap.lost for gap in gaps] == [5, 1]
    assert pipeline.lost == 6
    assert gaps[0].end_s - gaps[0].start_s == pytest.approx(6 / BOARD.real_rate_hz, rel=0.01)


def test_a_gap_between_two_calls_is_seen_as_well() -> None:
    pipeline = Pipeline(make_decoder(), Setup())
    outcomes = pipeline.feed(RECORDS[:400]) + pipeline.feed(RECORDS[405:800])
    assert [one.lost for one in outcomes if isinstance(one, Gap)] == [5]


def test_the_half_line_before_a_lost_connection_is_no_reading() -> None:
    pipeline = Pipeline(make_decoder("bare-integers"), Setup())
    pipeline.feed([Chunk("x", n * 12_500, b"%d\n" % (1000 + n)) for n in range(50)])
    pipeline.feed([Chunk("x", 630_000, b"12"), Event("lost", 640_000)])
    pipeline.feed([Event("back", 900_000), Chunk("x", 910_000, b"34\n")])
    before = pipeline.readings
    pipeline.feed([Chunk("x", 920_000 + n * 12_500, b"%d\n" % (2000 + n)) for n in range(5)])
    assert before <= 50
    assert pipeline.readings <= before + 5


def test_a_prescription_of_the_caller_overrules_those_of_the_stream() -> None:
    setup = Setup(
        Calibration.from_certificate(BOARD.certificate()),
        prescription=Prescription(Effort.MAXIMAL, 5.0),
    )
    pipeline = Pipeline(make_decoder(), setup)
    reps = [one for one in pipeline.feed(RECORDS) + pipeline.finish() if isinstance(one, Rep)]
    assert [rep.prescription.hold_s for rep in reps] == [5.0, 5.0]
    assert all(len(rep.bricks) == 5 for rep in reps)


def test_a_table_of_newtons_needs_no_calibration() -> None:
    n = 800
    time_us = (np.arange(n) * 12_500).astype(np.int64)
    force_N = np.where((time_us > 3_000_000) & (time_us < 6_000_000), 400.0, 0.0)
    force_N += np.random.default_rng(1).normal(0.0, 0.5, n)
    flags = np.zeros(n, dtype=np.uint16)
    block = CountBlock(np.arange(n), force_N[:, None], time_us, None, flags)
    pipeline = Pipeline(None, Setup(settling_s=0.05))
    outcomes = pipeline.feed_counts([block], Quantity.N) + pipeline.finish()
    assert pipeline.settling_s == 0.05
    (rep,) = outcomes
    assert isinstance(rep, Rep)
    assert rep.measures["hold_mean"].value == pytest.approx(400.0, abs=1.0)


def test_a_certificate_for_another_number_of_cells_is_refused() -> None:
    four = SimulatedBoard(BoardModel(channels=4)).certificate()
    pipeline = Pipeline(make_decoder(), Setup(Calibration.from_certificate(four)))
    with pytest.raises(CalibrationError, match="4"):
        pipeline.feed(RECORDS)


@pytest.mark.parametrize("seed", [8, 24, 26, 31, 39])
def test_a_lean_that_comes_on_late_is_told_from_the_push_on_top_of_it(seed: int) -> None:
    """The hand lies on the ball for less than a second before the rise."""
    board, records = stream(44.0, BoardModel(seed=seed))
    calibration = Calibration.from_certificate(board.certificate())
    pipeline = Pipeline(make_decoder(), Setup(calibration))
    reps = [one for one in pipeline.feed(records) + pipeline.finish() if isinstance(one, Rep)]
    leans = [rep for rep in board.reps if rep.shape == "lean" and rep.release_s < 44.0]
    assert leans
    for lean in leans:
        rep = min(reps, key=lambda one: abs(one.hold.onset_s - lean.onset_s))
        assert rep.hold.onset_sure
        assert rep.hold.onset_s == pytest.approx(lean.onset_s, abs=0.05)
        assert rep.verdict.rise == "leaning"


def test_an_identity_that_comes_late_counts_the_same_however_records_are_grouped() -> None:
    """A board that was running already answers who it is among its samples."""
    late = [RECORDS[1], *RECORDS[2:32], RECORDS[0], *RECORDS[32:]]
    whole, single = run(late, []), run(late, [1] * len(late))
    assert whole == single
    assert whole


def test_a_calibration_for_other_readings_is_refused() -> None:
    kilograms = msgspec.structs.replace(BOARD.certificate(), quantity=Quantity.KG)
    pipeline = Pipeline(make_decoder(), Setup(Calibration.from_certificate(kilograms)))
    with pytest.raises(CalibrationError, match="readings in kg"):
        pipeline.feed(RECORDS)


def test_the_header_of_a_recording_fills_in_what_was_not_said() -> None:
    header = Header(board="x", started="s", nominal_rate_hz=10.0, settling_s=0.2)
    assert setup_for(header, Setup()) == Setup(nominal_rate_hz=10.0, settling_s=0.2)
    said = Setup(nominal_rate_hz=80.0, settling_s=0.0)
    assert setup_for(header, said) == said


@pytest.mark.parametrize("model_seed", [3, 5, 7])
def test_looking_on_changes_nothing(model_seed: int) -> None:
    """A screen looks at the detector whenever it likes; the holds are none the wiser."""
    board, records = stream(10.0, BoardModel(seed=model_seed))
    calibration = Calibration.from_certificate(board.certificate())

    def holds(sizes: list[int], *, is_watched: bool) -> list[object]:
        pipeline = Pipeline(make_decoder(), Setup(calibration))
        outcomes: list[Outcome] = []
        at = 0
        for size in [*sizes, len(records)]:
            outcomes += pipeline.feed(records[at : at + size])
            at += size
            if is_watched and pipeline.detector is not None:
                pipeline.detector.watch()
        outcomes += pipeline.finish()
        return [rep_document(one) for one in outcomes if isinstance(one, Rep)]

    whole = holds([], is_watched=False)
    assert whole
    for seed in range(12):
        sizes = np.random.default_rng(seed).choice([1, 1, 1, 2, 3, 5, 8, 20, 60], 400).tolist()
        assert holds(sizes, is_watched=True) == whole


def test_creep_that_the_certificate_holds_is_not_counted_again() -> None:
    certificate = BOARD.certificate()
    budget = (BudgetTerm(CREEP, 0.3, shape="rectangular"),)
    found = []
    for one in (certificate, msgspec.structs.replace(certificate, budget=budget)):
        pipeline = Pipeline(make_decoder(), Setup(Calibration.from_certificate(one)))
        outcomes = pipeline.feed(RECORDS) + pipeline.finish()
        found.append([rep.measures for rep in outcomes if isinstance(rep, Rep)])
    for plain, certified in zip(*found, strict=True):
        for name in ("peak_force", "hold_mean"):
            whole, left = plain[name], certified[name]
            assert left.value == whole.value is not None
            assert whole.u_own is not None
            assert left.u_own is not None
            # half-widths of 0.1 % and a third of it, rectangular (JCGM 100:2008, 4.3.7)
            less = (0.001**2 - (0.001 / 3.0) ** 2) * whole.value**2 / 3.0
            assert whole.u_own**2 - left.u_own**2 == pytest.approx(less)
            assert left.u_common == whole.u_common
        assert plain["rfd_200"] == replace(certified["rfd_200"], certificate=certificate.id)
