import re
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from strikebridge.boards.address import make_decoder
from strikebridge.boards.simulated_athlete import HOW_OFTEN, Shape, Task, draw_shape, make_rep
from strikebridge.boards.simulated_board import (
    COUNTS_PER_KG,
    GAIN_N_PER_COUNT,
    BoardModel,
    SimulatedBoard,
)
from strikebridge.samples import Chunk, CountBlock, Flag, Floats


def run(
    model: BoardModel,
    seconds: float,
    *,
    hear: Sequence[tuple[str, float, dict[str, object]]] = (),
) -> tuple[SimulatedBoard, CountBlock]:
    """Let a board run; return it and its readings as the ordinary decoder reads them."""
    board = SimulatedBoard(model)
    told = sorted(hear, key=lambda one: one[1])
    lines = []
    while board.now_s < seconds:
        while told and told[0][1] <= board.now_s:
            board.hear(*told.pop(0))
        lines += board.next_lines()
    decoder = make_decoder("strikebridge-lines")
    chunks = [Chunk("x", 0, board.identity_line())]
    chunks += [Chunk("x", line.at_us, line.data) for line in lines]
    (block,) = decoder.feed(chunks)
    assert decoder.unreadable == 0
    return board, block


def force(board: SimulatedBoard, block: CountBlock) -> Floats:
    counts: Floats = block.counts.sum(axis=1) - board.zero_counts * board.model.channels
    return counts * GAIN_N_PER_COUNT


def ticks(block: CountBlock) -> Floats:
    assert block.ticks_us is not None
    return block.ticks_us.astype(np.float64) * 1e-6


@pytest.mark.parametrize("rate_hz", [10.0, 80.0, 320.0])
def test_readings_follow_the_truth(rate_hz: float) -> None:
    board, block = run(BoardModel(rate_hz=rate_hz, seed=5), 23.0)
    time_s, force_N = ticks(block), force(board, block)
    assert [round(rep.go_s) for rep in board.reps] == [4, 12, 20]
    for rep in board.reps[:2]:
        assert 0.2 <= rep.onset_s - rep.go_s <= 0.35
        held = (time_s > rep.onset_s + 1.2) & (time_s < rep.onset_s + 1.6)
        truth_N = board.reps[0].peak_N
        assert abs(np.median(force_N[held]) - rep.plateau_N) < 0.12 * truth_N
        near = (time_s > rep.onset_s - 0.1) & (time_s < rep.release_s + 0.5)
        assert abs(force_N[near].max() / rep.peak_N - 1.0) < (0.12 if rate_hz < 60 else 0.03)
        rest = (time_s > rep.onset_s - 1.0) & (time_s < rep.onset_s - 0.1)
        assert abs(np.median(force_N[rest])) < 8.0 or rep.shape is Shape.LEAN
    spacing = np.diff(ticks(block)).mean()
    assert spacing == pytest.approx(1.0 / board.real_rate_hz, rel=1e-4)
    assert 0.94 < board.real_rate_hz / rate_hz < 1.07


def test_same_seed_gives_the_same_bytes_and_another_seed_others() -> None:
    def text(seed: int) -> bytes:
        board = SimulatedBoard(BoardModel(seed=seed))
        return b"".join(line.data for _ in range(200) for line in board.next_lines())

    assert text(3) == text(3)
    assert text(3) != text(4)


def test_a_step_takes_four_conversions() -> None:
    """The converter's filter: nothing of a step before it, all of it after four conversions."""
    board = SimulatedBoard(BoardModel(rate_hz=80.0))
    kernel = board._kernel
    assert kernel.sum() == pytest.approx(1.0)
    assert len(kernel) == 4 * board._fine
    share = np.cumsum(kernel)[board._fine - 1 :: board._fine]
    assert share[-1] == pytest.approx(1.0)
    assert 0.4 < share[1] < 0.6


def test_noise_at_rest_is_that_of_real_boards() -> None:
    board, block = run(BoardModel(seed=9, is_listening=True), 20.0)
    steps = np.diff(block.counts[:, 0])
    assert 30.0 < steps.std() / np.sqrt(2.0) < 100.0
    assert board.reps == []


def test_who_listens_waits_for_the_go() -> None:
    task = {"effort": "submaximal", "hold_s": 5.0, "band_low_N": 500.0, "band_high_N": 600.0}
    told = [("prescribed", 1.0, task), ("go", 3.0, {}), ("turn", 3.5, {})]
    board, block = run(BoardModel(seed=2, is_listening=True), 12.0, hear=told)
    (rep,) = board.reps
    assert rep.go_s == 3.0
    assert 500.0 < rep.plateau_N < 600.0
    assert 4.9 < rep.release_s - rep.onset_s < 5.4
    assert force(board, block).max() == pytest.approx(rep.peak_N, rel=0.03)


@pytest.mark.parametrize(
    ("detail", "share"), [({"effort": "maximal"}, 1.0), ({"effort": "submaximal"}, 0.75)]
)
def test_without_a_band_the_effort_says_how_hard(
    detail: dict[str, object], share: float
) -> None:
    told = [("prescribed", 1.0, detail), ("go", 2.0, {})]
    board, _ = run(BoardModel(seed=2, is_listening=True), 4.0, hear=told)
    assert board.reps[0].peak_N == pytest.approx(share * board.strength_N, rel=0.15)


def test_who_goes_by_his_own_clock_hears_nothing() -> None:
    board, _ = run(BoardModel(seed=2), 3.0, hear=[("go", 1.0, {})])
    assert [rep.go_s for rep in board.reps] == [4.0]


def test_listening_does_not_depend_on_when_it_is_heard_within_the_reaction() -> None:
    def counts(late_s: float) -> list[bytes]:
        model = BoardModel(seed=2, is_listening=True)
        board = SimulatedBoard(model)
        lines = []
        while board.now_s < 8.0:
            if not board.reps and board.now_s >= 3.0 + late_s:
                board.hear("go", 3.0, {})
            lines += board.next_lines()
        return [line.data for line in lines]

    assert counts(0.0) == counts(0.1)


def test_cells_share_the_force() -> None:
    board, block = run(BoardModel(seed=4, channels=4), 8.0)
    assert block.counts.shape[1] == 4
    peak = force(board, block).max()
    assert peak == pytest.approx(board.reps[0].peak_N, rel=0.03)
    assert board.certificate().cells[0].coefficients[0] == board.zero_counts
    assert len(board.certificate().cells) == 4


def test_lost_lines_are_missing_numbers() -> None:
    _, block = run(BoardModel(seed=4, lost_share=0.05), 20.0)
    lost = block.number[-1] + 1 - len(block)
    assert 0.02 < lost / len(block) < 0.09
    assert (block.flags & Flag.GAP_BEFORE).any()


def test_a_reset_board_begins_anew() -> None:
    board, block = run(BoardModel(seed=4, reset_s=3.0), 6.0)
    (place,) = np.flatnonzero(block.flags & Flag.RESTARTED)
    assert ticks(block)[place] == pytest.approx(3.4, abs=0.03)
    lost = block.number[place] - block.number[place - 1] - 1
    assert lost == pytest.approx(0.4 * board.real_rate_hz, abs=1.5)


def test_counts_stop_at_the_end_of_the_converter() -> None:
    board = SimulatedBoard(BoardModel(seed=1, is_listening=True))
    board.hear("prescribed", 0.0, {"band_low_N": 5000.0, "band_high_N": 5200.0})
    board.hear("go", 0.0, {})
    counts = []
    while board.now_s < 2.0:
        counts += [int(re.split(rb"[,*]", line.data)[3]) for line in board.next_lines()]
    assert max(counts) == 2**23 - 1


def test_old_repetitions_keep_their_truth_but_not_their_curve() -> None:
    board, _ = run(BoardModel(rate_hz=10.0, seed=1), 100.0)
    assert len(board.reps) >= 12
    assert [len(rep.time_s) > 0 for rep in board.reps[-3:]] == [False, True, True]
    assert board.reps[0].peak_N > 500.0


def test_certificate_fits_the_cell() -> None:
    board = SimulatedBoard(BoardModel())
    certificate = board.certificate()
    assert certificate.cells[0].coefficients[1] == pytest.approx(COUNTS_PER_KG / 9.80665)
    assert certificate.u_relative == 0.005
    assert certificate.rating_N == pytest.approx(1961.33)


@pytest.mark.parametrize("shape", list(Shape))
def test_shapes_are_what_they_are_called(shape: Shape) -> None:
    for seed in range(8):
        rep = make_rep(shape, Task(1000.0, 3.0), 10.0, np.random.default_rng(seed))
        after_s = rep.time_s - rep.onset_s

        def at(s: Any, rep: Any = rep) -> float:
            return float(rep.at(np.array([rep.onset_s + s]))[0])

        snap_share = at(0.2) / rep.force_N[after_s < 1.0].max()
        held = rep.force_N[(after_s > 0.6) & (after_s < 1.4)]
        line = np.polyfit(np.arange(len(held)) / 1000.0, held, 1)
        cv = np.std(held - np.polyval(line, np.arange(len(held)) / 1000.0)) / held.mean()
        assert (snap_share > 0.7) == (shape not in (Shape.PUSH, Shape.TWO_STAGE))
        assert (cv > 0.05) == (shape is Shape.SHAKY) or shape in (Shape.PUSH, Shape.TWO_STAGE)
        if shape in (Shape.SNAP, Shape.SAG):
            assert (line[0] / held.mean() < -0.05) == (shape is Shape.SAG)
        assert (rep.release_s - rep.onset_s < 2.7) == (shape is Shape.EARLY)
        assert (at(-0.2) > 100.0) == (shape is Shape.LEAN)
        assert rep.force_N[0] == pytest.approx(0.0)
        assert rep.force_N[-1] == pytest.approx(0.0, abs=1e-6)


def test_most_repetitions_are_good_ones() -> None:
    rng = np.random.default_rng(0)
    drawn = [draw_shape(rng) for _ in range(500)]
    assert 0.5 < drawn.count(Shape.SNAP) / 500 < 0.8
    assert set(drawn) == set(Shape)
    assert sum(HOW_OFTEN.values()) == pytest.approx(1.0)
