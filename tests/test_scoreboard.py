"""The scoreboard: what a screen may show at each moment, and nothing it should not."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.boards.address import make_decoder
from strikebridge.calibration.apply import Calibration
from strikebridge.glance import Glance, Phase, Trouble
from strikebridge.measures import difference
from strikebridge.pipeline import Pipeline
from strikebridge.recording import RecordingReader
from strikebridge.samples import (
    Chunk,
    Effort,
    ForceBlock,
    MeasureValue,
    Prescription,
    Rep,
    Status,
)
from strikebridge.scoreboard import RISE_S, STALE_S, TRACE_S, Scoreboard, TraceRing
from strikebridge.session.conductor import COUNT_IN_S, NO_SHOW_S, Conductor, Key, Plan
from strikebridge.stream_setup import Setup, setup_for
from strikebridge.units import ForceUnit
from strikebridge.verdict.words import BACKWARDS_WALL
from tests.cli.streams import held_force, simulated_recording

ASKED = Prescription(Effort.MAXIMAL, 3.0)
PLAN = Plan(ASKED, result_s=2.0, rest_s=5.0, rep_total=6)

samples = st.lists(st.floats(-1e3, 1e4) | st.just(math.nan), max_size=30)


@given(st.integers(1, 40), st.lists(samples, max_size=12), st.floats(0.0, 3.0))
def test_the_ring_is_a_list_with_a_short_memory(
    capacity: int, blocks: list[list[float]], seconds_s: float
) -> None:
    ring, plain = TraceRing(capacity), list[tuple[float, float]]()
    for block in blocks:
        times = [0.1 * (len(plain) + k) for k in range(len(block))]
        ring.add(np.array(times), np.array(block))
        plain += zip(times, block, strict=True)
        window = ring.window(seconds_s)
        kept = [(t, f) for t, f in plain if math.isfinite(f)][-capacity:]
        expected = [(t, f) for t, f in kept if t >= plain[-1][0] - seconds_s]
        assert list(zip(window.time_s, window.force_N, strict=True)) == expected


def test_an_empty_ring_has_an_empty_window() -> None:
    assert len(TraceRing(10).window(5.0).time_s) == 0


def test_a_window_stays_as_it_was() -> None:
    ring = TraceRing(4)
    ring.add(np.arange(4.0), np.ones(4))
    window = ring.window(10.0)
    ring.add(np.arange(4.0, 8.0), np.zeros(4))
    assert list(window.force_N) == [1.0] * 4


class Wall:
    """A recording played through pipeline, conductor and scoreboard, without a thread."""

    def __init__(self, path: Path, plan: Plan = PLAN) -> None:
        reader = RecordingReader(path)
        self.records = iter(reader)
        self.pipeline = Pipeline(make_decoder(), setup_for(reader.header, Setup()))
        self.conductor = Conductor(plan)
        self.board = Scoreboard(ForceUnit.KG, athlete="Ines Halloran", exercise="jab")
        self.reps: list[Rep] = []
        self.now_us = self.newest_us = 0

    def play_to(self, until_s: float) -> None:
        """Feed what arrives before a time, and move the conductor as the station does."""
        for record in self.records:
            if not isinstance(record, Chunk):
                self.pipeline.feed([record])
                continue
            self.now_us = self.newest_us = record.arrived_us
            now_s = self.now_us * 1e-6
            for one in self.pipeline.feed([record]):
                if isinstance(one, Rep):
                    self.reps.append(one)
                    self.conductor.take(one, now_s)
            self.board.add(self.pipeline.fresh)
            watch = None if self.pipeline.detector is None else self.pipeline.detector.watch()
            self.board.see(watch, self.conductor.plan.prescription)
            is_touched = watch is not None and watch.onset_s is not None
            self.conductor.touch(is_touched=is_touched, now_s=now_s)
            self.conductor.tick(now_s)
            if now_s >= until_s:
                return

    def glance(self, *, later_s: float = 0.0, trouble: Trouble | None = None) -> Glance:
        """What may be shown now, or a while after the last bytes came."""
        return self.board.glance(
            self.conductor,
            newest_us=self.newest_us,
            now_us=self.now_us + round(later_s * 1e6),
            trouble=trouble,
        )


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The simulated athlete, gos at 4 s, 12 s and 20 s."""
    return simulated_recording(tmp_path_factory.mktemp("wall") / "a.jsonl", seconds=26.0)


def test_before_the_first_byte_nothing_is_known() -> None:
    board = Scoreboard(ForceUnit.LB)
    shown = board.glance(Conductor(PLAN), newest_us=0, now_us=0, trouble=None)
    assert shown.phase is Phase.READY
    assert (shown.force_N, shown.force_u95_N, shown.peak_N, shown.target_N) == (None,) * 4
    assert len(shown.trace.time_s) == 0
    assert shown.unit is ForceUnit.LB
    assert (shown.athlete, shown.exercise) == ("", "")


def test_ready_shows_the_force_now_with_its_doubt(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(3.5)
    shown = wall.glance()
    assert (shown.phase, shown.stale, shown.seconds_left) == (Phase.READY, False, None)
    assert (shown.athlete, shown.exercise) == ("Ines Halloran", "jab")
    assert (shown.hold_s, shown.effort, shown.rep_total) == (3.0, Effort.MAXIMAL, 6)
    assert shown.force_N is not None
    assert shown.force_u95_N is not None
    assert abs(shown.force_N) < shown.force_u95_N + 1.0
    assert shown.trace.time_s[-1] == pytest.approx(3.5, abs=0.1)
    assert (shown.peak_N, shown.bricks, shown.sentence) == (None, (), "")


def test_the_count_in_counts_down(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(1.0)
    wall.conductor.press(Key.GO, 1.0)
    wall.play_to(2.5)
    shown = wall.glance()
    assert (shown.phase, shown.rep_number) == (Phase.COUNT_IN, 1)
    assert shown.seconds_left == pytest.approx(COUNT_IN_S - 1.5, abs=0.05)


def test_a_hold_under_way_fills_its_bricks(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(1.0)
    wall.conductor.press(Key.GO, 1.0)
    full: list[float] = []
    for until_s in (5.0, 6.0, 7.0):
        wall.play_to(until_s)
        shown = wall.glance()
        assert shown.phase is Phase.HOLD
        assert shown.elapsed_s == pytest.approx(until_s - 4.3, abs=0.25)
        assert shown.seconds_left == pytest.approx(3.0 - shown.elapsed_s)
        assert shown.force_N is not None
        assert shown.peak_N is not None
        assert shown.peak_N >= shown.force_N
        full.append(sum(shown.bricks))
        assert full[-1] <= shown.elapsed_s + 0.1
    assert full[0] < full[1] < full[2]


def test_the_peak_shown_is_never_below_the_force_beside_it(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(1.0)
    wall.conductor.press(Key.GO, 1.0)
    peaks: list[float] = []
    for until_s in np.arange(4.0, 5.5, 0.01):
        wall.play_to(float(until_s))
        shown = wall.glance()
        if shown.peak_N is not None:
            peaks.append(shown.peak_N)
            assert shown.force_N is not None
            assert shown.force_N <= shown.peak_N
    assert len(peaks) > 50
    assert peaks == sorted(peaks)


def test_the_result_is_the_rep_as_measured(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(1.0)
    wall.conductor.press(Key.GO, 1.0)
    wall.play_to(9.0)
    shown, (rep,) = wall.glance(), wall.reps
    peak, quality = rep.measures["peak_force"], rep.measures["hold_quality"]
    assert shown.phase is Phase.RESULT
    assert (shown.peak_N, shown.peak_u95_N) == (peak.value, peak.u95)
    assert (shown.quality_percent, shown.quality_u95_percent) == (quality.value, quality.u95)
    assert shown.bricks == rep.bricks
    assert shown.sentence == rep.verdict.sentence
    assert (shown.change_last_N, shown.change_last_u95_N, shown.change_best) == (None, None, "")
    assert shown.target_N == peak.value
    assert shown.rise.time_s[0] >= -1.5 / wall.pipeline.fresh[-1].rate_hz
    assert shown.rise.time_s[-1] <= RISE_S
    assert shown.rise.force_N.max() > 0.5 * (peak.value or 0.0)
    wall.play_to(11.0)
    assert wall.glance().phase is Phase.REST
    assert wall.glance().peak_N == peak.value


def test_the_trace_is_the_last_seconds_above_the_zero(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(19.0)
    trace = wall.glance().trace
    assert trace.time_s[-1] - trace.time_s[0] == pytest.approx(TRACE_S, abs=0.05)
    assert np.all(np.diff(trace.time_s) > 0.0)
    assert abs(np.median(trace.force_N[-40:])) < 10.0


def test_old_data_show_no_force(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(3.0)
    fresh, old = wall.glance(later_s=STALE_S - 0.01), wall.glance(later_s=STALE_S + 0.01)
    assert (fresh.stale, old.stale) == (False, True)
    assert fresh.force_N is not None
    assert (old.force_N, old.force_u95_N) == (None, None)
    assert old.age_s == pytest.approx(STALE_S + 0.01)
    assert len(old.trace.time_s) == len(fresh.trace.time_s)


def test_a_slow_board_is_stale_later() -> None:
    board = Scoreboard(ForceUnit.KG)
    board.add([block_of(5.0)])
    ages_s = (0.9, 1.1)
    stale = [
        board.glance(
            Conductor(PLAN), newest_us=0, now_us=round(age_s * 1e6), trouble=None
        ).stale
        for age_s in ages_s
    ]
    assert stale == [False, True]


def block_of(rate_hz: float, n: int = 10) -> ForceBlock:
    """Samples at rest."""
    return ForceBlock(
        number=np.arange(n),
        time_s=np.arange(n) / rate_hz,
        force_N=np.zeros(n),
        cells_N=np.zeros((n, 1)),
        u_own_N=np.zeros(n),
        u_common_N=np.zeros(n),
        flags=np.zeros(n, np.uint16),
        rate_hz=rate_hz,
        calibration=None,
    )


def test_without_a_detector_the_doubt_is_unknown() -> None:
    board = Scoreboard(ForceUnit.KG)
    board.add([block_of(80.0)])
    shown = board.glance(Conductor(PLAN), newest_us=0, now_us=0, trouble=None)
    assert (shown.force_N, shown.force_u95_N) == (0.0, None)


def test_a_cell_that_falls_silent_in_a_hold_shows_no_force(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(6.0)
    assert wall.glance().peak_N is not None
    block = block_of(80.0, 900)
    nothing = np.full(900, np.nan)
    wall.board.add([replace(block, time_s=block.time_s + 6.5, force_N=nothing)])
    shown = wall.glance()
    assert (shown.force_N, shown.peak_N, len(shown.trace.time_s)) == (None, None, 0)


def test_a_cell_that_reads_backwards_is_said_on_the_wall(tmp_path: Path) -> None:
    time_s, force_N = held_force()
    rows = zip(time_s.tolist(), (-1000.0 * force_N).round().tolist(), strict=True)
    lines = [Chunk("x", round(1e6 * at_s), b"%d\n" % int(count)) for at_s, count in rows]
    gain = Calibration.by_hand(1e-3, 0.0)
    pipeline = Pipeline(make_decoder("bare-integers"), Setup(calibration=gain))
    board, conductor = Scoreboard(ForceUnit.KG), Conductor(PLAN)
    warnings = []
    for until_s in (4.0, 12.0):
        pipeline.feed([line for line in lines if line.arrived_us < until_s * 1e6])
        board.add(pipeline.fresh)
        assert pipeline.detector is not None
        board.see(pipeline.detector.watch(), PLAN.prescription)
        now_us = round(until_s * 1e6)
        glance = board.glance(conductor, newest_us=now_us, now_us=now_us, trouble=None)
        warnings.append(glance.warning)
        lines = [line for line in lines if line.arrived_us >= until_s * 1e6]
    assert warnings == ["", BACKWARDS_WALL]


def test_trouble_goes_before_everything(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(3.0)
    trouble = Trouble("The board went quiet.", "Check the plug.", 2.0)
    shown = wall.glance(trouble=trouble)
    assert (shown.phase, shown.trouble) == (Phase.WAITING, trouble)


def test_nobody_came(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(1.0)
    wall.conductor.press(Key.GO, 1.0)
    wall.conductor.tick(1.0 + COUNT_IN_S)
    wall.conductor.tick(1.0 + COUNT_IN_S + 3.0 + NO_SHOW_S)
    shown = wall.glance()
    assert shown.phase is Phase.RESULT
    assert shown.sentence == "No hold seen. Press go to try again."
    assert (shown.peak_N, shown.quality_percent, shown.bricks) == (None, None, ())


def test_a_result_without_a_rep_shows_none(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(9.0)
    wall.conductor.reps.clear()
    shown = wall.glance()
    assert (shown.phase, shown.peak_N, shown.sentence) == (Phase.RESULT, None, "")


def test_without_a_prescribed_time_there_are_no_bricks(recording: Path) -> None:
    wall = Wall(recording, Plan(Prescription()))
    wall.play_to(6.0)
    shown = wall.glance()
    assert shown.peak_N is not None
    assert (shown.hold_s, shown.bricks) == (None, ())


def test_the_change_from_rep_to_rep_is_their_difference(recording: Path) -> None:
    wall = Wall(recording)
    wall.play_to(17.0)
    shown = wall.glance()
    first, second = (rep.measures["peak_force"] for rep in wall.reps)
    change_N, u95_N = difference(second, first)
    assert (shown.change_last_N, shown.change_last_u95_N) == (change_N, u95_N)


def shown_after(reps: list[Rep]) -> tuple[str, float | None, float | None]:
    """Words on the best, target and change after these reps."""
    board, conductor = Scoreboard(ForceUnit.KG), Conductor(PLAN)
    for k, rep in enumerate(reps):
        conductor.take(rep, float(k))
    shown = board.glance(conductor, newest_us=0, now_us=0, trouble=None)
    return shown.change_best, shown.target_N, shown.change_last_N


@pytest.fixture(scope="module")
def rep(recording: Path) -> Rep:
    """One real rep."""
    wall = Wall(recording)
    wall.play_to(9.0)
    return wall.reps[0]


def with_peak(rep: Rep, value_N: float | None) -> Rep:
    """The same rep with another peak, known to 10 N."""
    doubt = None if value_N is None else 5.0
    common = None if value_N is None else 0.0
    status = Status.WITHHELD if value_N is None else Status.OK
    peak = MeasureValue("peak_force", value_N, "N", doubt, common, status=status)
    return replace(rep, measures={**rep.measures, "peak_force": peak})


@pytest.mark.parametrize(
    ("peaks_N", "words", "target_N", "change_N"),
    [
        ([800.0], "", 800.0, None),
        ([800.0, 900.0], "new best", 900.0, 100.0),
        ([800.0, 805.0], "level with best", 805.0, 5.0),
        ([800.0, 795.0], "level with best", 800.0, -5.0),
        ([800.0, 700.0], "", 800.0, -100.0),
        ([900.0, 700.0, 898.0], "level with best", 900.0, 198.0),
        ([None], "", None, None),
        ([None, 800.0], "", 800.0, None),
        ([800.0, None], "", 800.0, None),
        ([800.0, None, 900.0], "new best", 900.0, None),
    ],
)
def test_a_best_is_one_that_the_doubt_allows(
    rep: Rep,
    peaks_N: list[float | None],
    words: str,
    target_N: float | None,
    change_N: float | None,
) -> None:
    reps = [with_peak(rep, peak_N) for peak_N in peaks_N]
    assert shown_after(reps) == (words, target_N, change_N)


@pytest.mark.parametrize(
    ("rise", "is_snap"),
    [
        ("snap", True),
        ("ramp", False),
        ("two-stage", False),
        ("leaning", None),
        ("false start", None),
        ("not measurable", None),
    ],
)
def test_the_word_on_the_rise(rep: Rep, rise: str, is_snap: bool | None) -> None:
    said = replace(rep, verdict=replace(rep.verdict, rise=rise))
    board, conductor = Scoreboard(ForceUnit.KG), Conductor(PLAN)
    conductor.take(said, 0.0)
    shown = board.glance(conductor, newest_us=0, now_us=0, trouble=None)
    assert shown.is_snap is is_snap


def test_a_rep_taken_back_is_neither_last_nor_best(rep: Rep) -> None:
    peak = rep.measures["peak_force"]
    assert peak.value is not None
    higher = replace(peak, value=2.0 * peak.value)
    better = replace(rep, measures={**rep.measures, "peak_force": higher})
    board, conductor = Scoreboard(ForceUnit.KG), Conductor(PLAN)
    conductor.take(rep, 0.0)
    conductor.take(better, 1.0)
    shown = board.glance(conductor, newest_us=0, now_us=0, trouble=None)
    assert shown.peak_N == shown.target_N == higher.value
    conductor.reps.pop()
    shown = board.glance(conductor, newest_us=0, now_us=0, trouble=None)
    assert shown.peak_N == shown.target_N == peak.value
    assert shown.change_last_N is None
