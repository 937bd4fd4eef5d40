"""One wall, live: real bytes through a real serial port, and the same holds by every way."""

import os
import subprocess
import sys
import threading
from datetime import datetime
from functools import partial
from pathlib import Path

import msgspec
import pytest

from strikebridge.analysis import Analysis, analyse_file, collect
from strikebridge.board_papers import OVERLOADED
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.certificate import plain_certificate
from strikebridge.calibration.shelf import Shelf
from strikebridge.checks.history import OverloadRecord, board_file, read_history
from strikebridge.errors import BoardLostError, BoardNotFoundError, RecordingError
from strikebridge.glance import Glance, Phase
from strikebridge.pipeline import Outcome
from strikebridge.recording import RecordingReader
from strikebridge.reports.analysis_json import analysis_document
from strikebridge.samples import Chunk, Effort, Event, Prescription, Rep
from strikebridge.session.conductor import Key, Plan
from strikebridge.sound.speaker import NO_DEVICE, Speaker
from strikebridge.sound.tones import Signal
from strikebridge.station import Station, StationSetup
from strikebridge.stream_setup import Setup
from tests.ptys import open_pty, posix
from tests.running import WITHIN_S, running
from tests.wall import foreign_board

ROUNDS = Plan(Prescription(Effort.MAXIMAL, 3.0), 2.0, 2.0, is_rounds=True, round_s=8.0)


def run(setup: StationSetup) -> tuple[Station, list[Outcome]]:
    outcomes: list[Outcome] = []
    station = Station(setup, on_outcome=outcomes.append)
    with running(station):
        assert station.wait(WITHIN_S)
    return station, outcomes


def found_by(station: Station, outcomes: list[Outcome], name: str) -> Analysis:
    assert station.pipeline is not None
    return collect(name, station.pipeline, outcomes)


def board_lines(seconds: float, seed: int = 1, rate_hz: float = 80.0) -> list[bytes]:
    board = SimulatedBoard(BoardModel(rate_hz=rate_hz, seed=seed))
    lines = [board.identity_line()]
    while board.now_s < seconds:
        lines += [line.data for line in board.next_lines()]
    return lines


@posix
@pytest.mark.slow
def test_live_analysis_and_replay_agree_to_the_last_digit(tmp_path: Path) -> None:
    """Another process writes; every byte is recorded; three ways give the same holds."""
    lines = board_lines(17.0)
    recording = tmp_path / "live.jsonl"
    certificate = SimulatedBoard(BoardModel(seed=1)).certificate()
    outcomes: list[Outcome] = []
    with foreign_board(lines, period_s=0.002) as board:
        setup = StationSetup(
            f"serial:{board.path}", ROUNDS, recording, certificate=certificate, is_patient=True
        )
        station = Station(setup, on_outcome=outcomes.append)
        with running(station):
            board.wait_until_written()
            while station.bytes_recorded < sum(map(len, lines)):
                assert not station.wait(0.01)
    assert station.error is None
    records = list(RecordingReader(recording))
    stored = b"".join(record.data for record in records if isinstance(record, Chunk))
    assert stored == b"".join(lines)
    assert [record.kind for record in records if isinstance(record, Event)]

    live = analysis_document(found_by(station, outcomes, recording.name))
    assert len(live["holds"]) == 2  # type: ignore[arg-type]  # a list by contract
    assert analysis_document(analyse_file(recording, Setup())) == live

    replayed, outcomes = run(StationSetup(f"replay:{recording}?speed=max"))
    assert analysis_document(found_by(replayed, outcomes, recording.name)) == live


@posix
@pytest.mark.slow
@pytest.mark.parametrize("has_name", [True, False])
def test_the_newest_certificate_of_the_board_is_taken_by_itself(
    tmp_path: Path, has_name: bool
) -> None:
    """Chosen while the first readings come, kept as an event, and the same on replay."""
    lines = board_lines(17.0)
    if not has_name:
        lines = [b"%d\n" % int(line.split(b"*")[0].split(b",")[3]) for line in lines[1:]]
    certificate = SimulatedBoard(BoardModel(seed=1)).certificate()
    recording, remarks = tmp_path / "live.jsonl", list[str]()
    outcomes: list[Outcome] = []
    # what comes without a clock has to come in time
    with foreign_board(lines, period_s=0.003 if has_name else 0.0125) as (path, _):
        if not has_name:
            certificate = msgspec.structs.replace(certificate, board="")
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        certificate = msgspec.structs.replace(
            certificate, address=f"serial:{path}?baud=9600", made_at=now
        )
        Shelf(tmp_path).put(certificate)
        station = Station(
            StationSetup(f"serial:{path}", ROUNDS, recording, data=tmp_path),
            on_outcome=outcomes.append,
            on_remark=remarks.append,
        )
        with running(station):
            while not [one for one in outcomes if isinstance(one, Rep)]:
                assert not station.wait(0.01)
            said = station.glance().remark
    assert station.error is None
    assert len(remarks) == 1
    assert remarks[0] == said
    assert f"Calibration {certificate.id} of " in said
    reader = RecordingReader(recording)
    assert reader.header.calibration is None
    events = [record for record in reader if isinstance(record, Event)]
    calibrated = [event.at_us for event in events if event.kind == "calibrated"]
    assert len(calibrated) == 1
    assert (calibrated[0] > 0.9e6) is not has_name  # nobody waits for a name that is there
    identities = [event.detail for event in events if event.kind == "identity"]
    assert [one["board"] for one in identities] == ["simulated-1"] * has_name

    live = analysis_document(found_by(station, outcomes, recording.name))
    assert live["calibration"] == certificate.id
    assert analysis_document(analyse_file(recording, Setup())) == live
    by_hand = analyse_file(recording, Setup(Calibration.by_hand(1e-3)))
    assert by_hand.calibration == "by hand"


def test_a_simulated_board_takes_its_own_calibration_from_the_shelf_first(
    tmp_path: Path,
) -> None:
    """Its name is known before it is open, so the header has it; each seed is a board."""
    for seed, gain in ((1, 4e-4), (2, 5e-4)):
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        plain = plain_certificate(gain, 0.0, made_at=now, range_N=(0.0, 900.0))
        Shelf(tmp_path).put(msgspec.structs.replace(plain, board=f"simulated-{seed} 1.0"))
    (tmp_path / "certificates" / "torn.json").write_text("{", "utf-8")
    used, remarks = [], list[str]()
    for seed in (2, 3):
        recording = tmp_path / f"{seed}.jsonl"
        address = f"simulated:?seed={seed}&speed=max"
        setup = StationSetup(address, recording=recording, data=tmp_path, seconds=1.0)
        station = Station(setup, on_remark=remarks.append)
        with running(station):
            assert station.wait(WITHIN_S)
        used.append(RecordingReader(recording).header.calibration)
    assert used[0] is not None
    assert used[0]["board"] == "simulated-2 1.0"
    assert used[1] is not None
    assert used[1]["id"] == SimulatedBoard(BoardModel(seed=3)).certificate().id
    assert [("torn.json" in one, "of simulated-2, made" in one) for one in remarks] == [
        (True, False),
        (False, True),
        (True, False),
    ]


def overloading(tmp_path: Path, *, seconds: float = 20.0) -> StationSetup:
    return StationSetup(
        "simulated:?seed=3&speed=max&overload=1.2",
        ROUNDS,
        tmp_path / "a.jsonl",
        data=tmp_path,
        seconds=seconds,
    )


def test_an_overload_stops_the_rep_is_kept_and_asks_for_a_check(tmp_path: Path) -> None:
    glances: list[Glance] = []
    outcomes: list[Outcome] = []
    remarks: list[str] = []
    station = Station(
        overloading(tmp_path), on_outcome=outcomes.append, on_remark=remarks.append
    )
    station.listen(lambda: glances.append(station.glance()))
    with running(station):
        assert station.wait(WITHIN_S)
    assert station.error is None
    first, second = (one for one in outcomes if isinstance(one, Rep))
    assert "over rating" not in first.verdict.faults
    assert second.verdict.faults[0] == "over rating"
    strains = [glance.strain for glance in glances if glance.strain]
    assert "over the rating" in strains
    during = [glance for glance in glances if glance.strain == "over the rating"]
    assert {glance.phase for glance in during} == {Phase.HOLD}
    assert all((glance.seconds_left or 0.0) <= 0.0 for glance in during)
    assert glances[-1].strain == ""
    events = [one for one in RecordingReader(tmp_path / "a.jsonl") if isinstance(one, Event)]
    assert [event.kind for event in events].count("overload") == 1
    assert remarks == ["The cell was overloaded: run verify before you trust a number."]
    assert glances[-1].warning == OVERLOADED
    # one line in the board's history, with the largest force of it
    path = board_file(tmp_path, "simulated-3 1.0", "simulated:")
    (record,) = read_history(path).records
    assert isinstance(record, OverloadRecord)
    assert record.rating_N == pytest.approx(200 * 9.80665)
    assert 1.1 < record.force_N / record.rating_N < 1.3
    # the next session is told, though the certificate came with the board
    again: list[str] = []
    setup = StationSetup("simulated:?seed=3&speed=max", data=tmp_path, seconds=1.0)
    other = Station(setup, on_remark=again.append)
    with running(other):
        assert other.wait(WITHIN_S)
    assert len(again) == 1
    assert "overloaded less than a day ago" in again[0]
    assert other.glance().warning == OVERLOADED


def test_an_overload_under_way_at_the_end_is_kept_as_well(tmp_path: Path) -> None:
    station, _ = run(overloading(tmp_path, seconds=13.0))
    assert station.error is None
    history = read_history(board_file(tmp_path, "simulated-3 1.0", ""))
    assert len(history.records) == 1


def test_a_history_that_cannot_be_kept_or_read_costs_no_rep(tmp_path: Path) -> None:
    path = board_file(tmp_path, "simulated-3 1.0", "")
    path.mkdir(parents=True)
    outcomes: list[Outcome] = []
    remarks: list[str] = []
    station = Station(
        overloading(tmp_path), on_outcome=outcomes.append, on_remark=remarks.append
    )
    with running(station):
        assert station.wait(WITHIN_S)
    assert station.error is None
    assert len([one for one in outcomes if isinstance(one, Rep)]) == 2
    assert ["cannot be read" in one for one in remarks] == [True, False, False]
    assert ["cannot be written" in one for one in remarks] == [False, False, True]


def test_a_rating_by_hand_is_kept_and_judged_alike_on_replay(tmp_path: Path) -> None:
    recording, outcomes = tmp_path / "a.jsonl", list[Outcome]()
    setup = StationSetup(
        "simulated:?seed=3&speed=max", ROUNDS, recording, seconds=10.0, rating_N=500.0
    )
    station = Station(setup, on_outcome=outcomes.append)
    with running(station):
        assert station.wait(WITHIN_S)
    (rep,) = (one for one in outcomes if isinstance(one, Rep))
    assert rep.verdict.faults[0] == "over rating"
    live = analysis_document(found_by(station, outcomes, recording.name))
    assert analysis_document(analyse_file(recording, Setup())) == live
    (other,) = analyse_file(recording, Setup(rating_N=5000.0)).reps
    assert "over rating" not in other.verdict.faults
    assert not (tmp_path / "checks").exists()  # no data folder was named


def test_the_same_seed_gives_the_same_holds(tmp_path: Path) -> None:
    documents = []
    for n in range(2):
        recording = tmp_path / f"{n}.jsonl"
        address = "simulated:?seed=5&speed=max"
        station = Station(StationSetup(address, ROUNDS, recording))
        with running(station):
            while station.seconds < 30.0:
                assert not station.wait(0.01)
        assert station.error is None
        document = analysis_document(analyse_file(recording, Setup()))
        documents.append(document["holds"][:3])  # type: ignore[index]  # a list by contract
    assert documents[0] == documents[1]
    assert len(documents[0]) == 3  # type: ignore[arg-type]  # the same


@posix
def test_a_port_that_closes_ends_an_impatient_station_with_its_error(tmp_path: Path) -> None:
    lines = board_lines(2.0)
    recording = tmp_path / "cut.jsonl"
    with foreign_board(lines, period_s=0.0) as board:
        station = Station(StationSetup(f"serial:{board.path}", recording=recording))
        with running(station):
            while station.bytes_recorded < sum(map(len, lines)):
                assert not station.wait(0.01)
            board.pull()
            assert station.wait(WITHIN_S)
    assert isinstance(station.error, BoardLostError)
    stored = [r.data for r in RecordingReader(recording) if isinstance(r, Chunk)]
    assert b"".join(stored) == b"".join(lines)


@posix
@pytest.mark.slow
@pytest.mark.parametrize("is_busy", [False, True])
def test_a_patient_station_finds_its_board_again_and_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, is_busy: bool
) -> None:
    """The plug is pulled and comes back under the same name; nothing recorded is lost."""
    if is_busy:  # so that it did not come to act on the last lines before the loss
        monkeypatch.setattr("strikebridge.acquisition.ACT_LATE_US", 1e9)
        monkeypatch.setattr("strikebridge.acquisition.ACT_AFTER_US", 1e9)
        monkeypatch.setattr("strikebridge.acquisition.SHOW_FIRST_S", 0.5)
    port, recording = tmp_path / "port", tmp_path / "all.jsonl"
    first, second = board_lines(3.0, seed=1), board_lines(3.0, seed=2)
    glances: list[Glance] = []
    certificate = SimulatedBoard(BoardModel(seed=1)).certificate()
    setup = StationSetup(
        f"serial:{port}", recording=recording, certificate=certificate, is_patient=True
    )
    station = Station(setup)
    station.listen(lambda: glances.append(station.glance()))
    with foreign_board(first, period_s=0.0) as board:
        port.symlink_to(board.path)
        with running(station):
            while station.bytes_recorded < sum(map(len, first)):
                assert not station.wait(0.01)
            port.unlink()  # a driver takes the name away, too
            board.pull()
            while not any(g.trouble and "unplugged" in g.trouble.what for g in glances[-1:]):
                assert not station.wait(0.01)
            with foreign_board(second, period_s=0.0) as again:
                port.symlink_to(again.path)
                while station.bytes_recorded < sum(map(len, first + second)):
                    assert not station.wait(0.01)
                while "simulated-2" not in str(station._identity):
                    assert not station.wait(0.01)
                station.stop()
    assert station.error is None
    records = list(RecordingReader(recording))
    kinds = [record.kind for record in records if isinstance(record, Event)]
    # a busy computer may keep the board quiet for a while
    kinds = [kind for kind in kinds if kind not in ("quiet", "heard")]
    assert kinds == ["identity", "lost", "back", "identity"]
    stored = b"".join(record.data for record in records if isinstance(record, Chunk))
    assert stored == b"".join(first + second)
    said = [g.trouble for g in glances if g.trouble is not None]
    assert "I go on by myself" in said[0].advice


def test_a_stalled_screen_costs_no_sample(tmp_path: Path) -> None:
    """Nobody takes a Glance: one wake-up stays outstanding, and every byte is recorded."""
    woken = []
    recording = tmp_path / "a.jsonl"
    station = Station(StationSetup("simulated:?seed=1&speed=max", ROUNDS, recording))
    station.listen(lambda: woken.append(1))
    with running(station):
        while station.seconds < 60.0:
            assert not station.wait(0.01)
        assert len(woken) == 1
        station.glance()
        while len(woken) < 2:
            assert not station.wait(0.01)
    analysis = analyse_file(recording, Setup())
    assert sum(gap.lost for gap in analysis.gaps) == 0
    assert len(analysis.reps) >= 7


def test_the_wall_goes_through_its_phases(tmp_path: Path) -> None:
    seen: dict[Phase, Glance] = {}
    station = Station(StationSetup("simulated:?seed=1&speed=20", ROUNDS, tmp_path / "a.jsonl"))
    station.listen(lambda: seen.update({(g := station.glance()).phase: g}))
    with running(station):
        wanted = {Phase.READY, Phase.COUNT_IN, Phase.HOLD, Phase.RESULT, Phase.REST}
        while not wanted <= set(seen) or station.seconds < 20.0:
            assert not station.wait(0.01)
    result = seen[Phase.RESULT]
    assert result.peak_N is not None
    assert result.peak_u95_N is not None
    assert result.sentence
    assert result.change_last_N is not None or result.rep_number == 1
    assert len(result.bricks) == 3
    assert 0.3 < result.rise.time_s[-1] <= 0.5
    assert seen[Phase.HOLD].trace.time_s[-1] > 4.0


def test_keys_start_a_rep_of_a_listening_athlete(tmp_path: Path) -> None:
    reps: list[Outcome] = []
    plan = Plan(Prescription(Effort.MAXIMAL, 3.0), 1.0, 1.0)
    address = "simulated:?seed=1&athlete=listens&speed=20"
    station = Station(StationSetup(address, plan, tmp_path / "a.jsonl"), on_outcome=reps.append)
    with running(station):
        while station.seconds < 3.0:
            assert not station.wait(0.01)
        assert not reps
        station.press(Key.GO)
        while not reps:
            assert not station.wait(0.01)
    assert isinstance(reps[0], Rep)
    assert reps[0].hold.go_s is not None
    assert reps[0].prescription.hold_s == 3.0
    assert reps[0].measures["reaction"].value is not None


def test_the_desk_has_the_reps_that_count(tmp_path: Path) -> None:
    station, outcomes = run(
        StationSetup("simulated:?seed=1&speed=20", ROUNDS, tmp_path / "a.jsonl", seconds=20.0)
    )
    reps = [one for one in outcomes if isinstance(one, Rep)]
    desk = station.desk()
    assert [one.rep for one in desk.attempts] == reps
    assert [one.number for one in desk.attempts] == list(range(1, len(reps) + 1))
    assert len(reps) >= 2
    assert station.desk() is desk
    station.cue(1)
    assert desk.cues == ()


def test_what_was_played_is_recorded_and_taken_off_the_reaction(tmp_path: Path) -> None:
    speaker = Speaker(0.5, backends=("NULL",))
    speaker.open()
    assert speaker.wait(WITHIN_S)
    setup = StationSetup(
        "simulated:?seed=1&athlete=listens&speed=4", ROUNDS, tmp_path / "a.jsonl",
        seconds=15.0, speaker=speaker,
    )  # fmt: skip
    _, outcomes = run(setup)
    rep = next(one for one in outcomes if isinstance(one, Rep) and one.hold.go_s is not None)
    assert rep.hold.sound_latency_s == pytest.approx(0.04, abs=0.01)
    events = [one for one in RecordingReader(tmp_path / "a.jsonl") if isinstance(one, Event)]
    told = [one.detail["signal"] for one in events if one.kind == "sound"]
    assert told[:4] == ["count", "count", "count", "go"]
    assert {"last", "done"} <= set(told)
    go_us = [one.at_us for one in events if one.kind == "go"]
    sound_us = [e.at_us for e in events if e.kind == "sound" and e.detail["signal"] == "go"]
    assert sound_us == go_us
    again = analyse_file(tmp_path / "a.jsonl", Setup(None))  # the file alone says the same
    same = next(one for one in again.reps if one.hold.number == rep.hold.number)
    assert same.measures["reaction"] == rep.measures["reaction"]
    assert not speaker.play(Signal.GO)  # the station let go of it


def test_without_a_device_the_station_says_so_once_and_goes_on(tmp_path: Path) -> None:
    remarks: list[str] = []
    speaker = Speaker(backends=("WASAPI",))  # of another system, so that there is none here
    setup = StationSetup("simulated:?seed=1&speed=20", ROUNDS, tmp_path / "a.jsonl",
        seconds=20.0, speaker=speaker)  # fmt: skip
    station = Station(setup, on_remark=remarks.append)
    with running(station):
        assert station.wait(WITHIN_S)
    assert station.error is None
    assert remarks.count(NO_DEVICE) == 1
    assert '"sound"' not in (tmp_path / "a.jsonl").read_text()


def test_an_existing_recording_is_left_alone_and_the_port_let_go(tmp_path: Path) -> None:
    (tmp_path / "a.jsonl").write_text("mine")
    before = set(threading.enumerate())
    station, _ = run(StationSetup("simulated:?speed=max", recording=tmp_path / "a.jsonl"))
    assert isinstance(station.error, RecordingError)
    assert (tmp_path / "a.jsonl").read_text() == "mine"
    assert set(threading.enumerate()) <= before


def test_a_queue_that_overflows_ends_the_station_and_is_never_silent(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikebridge.acquisition.StreamQueue", partial(StreamQueue, limit=3))
    recording = tmp_path / "a.jsonl"
    setup = StationSetup("simulated:?rate_hz=320&speed=1000", recording=recording)
    station, _ = run(setup)
    assert isinstance(station.error, RecordingError)
    assert "did not keep up" in str(station.error)
    assert list(RecordingReader(recording))


def test_a_missing_board_leaves_no_file_behind(tmp_path: Path) -> None:
    setup = StationSetup(f"serial:{tmp_path}/none", recording=tmp_path / "a.jsonl")
    station, _ = run(setup)
    assert isinstance(station.error, BoardNotFoundError)
    assert not (tmp_path / "a.jsonl").exists()
    glance = station.glance()
    assert glance.trouble is not None
    assert glance.phase is Phase.WAITING


def test_a_fault_of_the_program_is_caught_at_the_edge_of_the_thread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("a fault")

    monkeypatch.setattr("strikebridge.pipeline.Pipeline.judge", broken)
    station, _ = run(StationSetup("simulated:?speed=max", recording=tmp_path / "a.jsonl"))
    assert isinstance(station.error, ZeroDivisionError)
    assert "acquisition thread ended" in caplog.text
    trouble = station.glance().trouble
    assert trouble is not None
    assert "What was recorded up to now is safe" in trouble.advice


@posix
@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([b"%d\r\n" % n for n in range(100_000, 100_400)], "not calibrated"),
        ([b"nothing to read here\n"] * 400, "cannot read"),
    ],
)
def test_what_a_board_lacks_is_said_on_the_wall(lines: list[bytes], words: str) -> None:
    with foreign_board(lines, period_s=0.01) as (path, _):
        station = Station(StationSetup(f"serial:{path}"))
        said: list[str] = []

        def look() -> None:
            trouble = station.glance().trouble
            said.append("" if trouble is None else trouble.what)

        station.listen(look)
        with running(station):
            while not any(words in what for what in said):
                assert not station.wait(0.01)


@posix
def test_silence_is_said_on_the_wall() -> None:
    with foreign_board([b"1\n"], period_s=0.0) as (path, _):
        station = Station(StationSetup(f"serial:{path}"))
        with running(station):
            while (trouble := station.glance().trouble) is None:
                assert not station.wait(0.01)
    assert "quiet" in trouble.what or "Nothing has come" in trouble.what


@pytest.mark.slow
@pytest.mark.timeout(900)
def test_memory_stays_flat_over_a_long_stream(tmp_path: Path) -> None:
    """Resident memory of a process of its own, at a third of the stream and at its end [MiB].

    Six minutes here; `STRIKEBRIDGE_MEMORY_S=3600` makes it an hour.
    """
    code = """
import sys, psutil
from strikebridge.boards.address import make_decoder
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.calibration.apply import Calibration
from strikebridge.pipeline import Pipeline
from strikebridge.stream_setup import Setup
from strikebridge.samples import Chunk
board = SimulatedBoard(BoardModel(seed=3))
pipeline = Pipeline(make_decoder(), Setup(Calibration.from_certificate(board.certificate())))
def live_until(seconds):
    while board.now_s < seconds:
        chunks = [Chunk("x", line.at_us, line.data) for line in board.next_lines()]
        pipeline.feed(chunks)
    return psutil.Process().memory_info().rss / 2**20
print(live_until(float(sys.argv[1])), live_until(float(sys.argv[2])))
"""
    seconds = os.environ.get("STRIKEBRIDGE_MEMORY_S", "360")
    early = str(float(seconds) / 3)
    done = subprocess.run(
        [sys.executable, "-c", code, early, seconds],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[1],
    )
    before, after = map(float, done.stdout.split())
    assert after - before < 4.0


@pytest.mark.slow
def test_what_waits_when_the_station_is_stopped_is_recorded_as_well(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A step that hangs while another process goes on writing, then stop."""
    lines = board_lines(2.0)
    hung, go_on = threading.Event(), threading.Event()
    real_step = Station._step

    async def slow_step(self: Station, *rest: object) -> None:
        await real_step(self, *rest)  # type: ignore[arg-type]  # handed through as they are
        hung.set()
        go_on.wait(WITHIN_S)

    monkeypatch.setattr(Station, "_step", slow_step)
    recording = tmp_path / "a.jsonl"
    with foreign_board(lines, period_s=0.001) as board:
        station = Station(StationSetup(f"serial:{board.path}", recording=recording))
        with running(station):
            assert hung.wait(WITHIN_S)
            board.wait_until_written()
            stopper = threading.Thread(target=station.stop)
            stopper.start()
            go_on.set()
            stopper.join()
    stored = [r.data for r in RecordingReader(recording) if isinstance(r, Chunk)]
    assert b"".join(stored) == b"".join(lines)


def test_a_screen_that_cannot_be_served_still_lets_the_station_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("a fault")

    monkeypatch.setattr("strikebridge.scoreboard.Scoreboard.glance", broken)
    monkeypatch.setattr(threading, "excepthook", lambda _: None)
    station, _ = run(StationSetup("simulated:?speed=max", recording=tmp_path / "a.jsonl"))
    assert isinstance(station.error, ZeroDivisionError)


def test_a_free_rep_is_judged_by_the_plan_as_well(tmp_path: Path) -> None:
    """Nobody counted it in; the prescription of the plan holds all the same."""
    reps: list[Outcome] = []
    plan = Plan(Prescription(Effort.MAXIMAL, 3.0))
    setup = StationSetup(
        "simulated:?seed=1&speed=max", plan, tmp_path / "a.jsonl", seconds=12.0
    )
    station = Station(setup, on_outcome=reps.append)
    with running(station):
        assert station.wait(WITHIN_S)
    assert isinstance(reps[0], Rep)
    assert reps[0].measures["hold_quality"].value is not None
    assert len(reps[0].bricks) == 3


@posix
@pytest.mark.slow
def test_a_fault_of_the_board_is_said_and_logged(tmp_path: Path) -> None:
    """A converter that stands still: said on the wall, and an event in the recording."""
    recording = tmp_path / "a.jsonl"
    lines = board_lines(1.0)
    still = [close_line(b"S,%d,%d,84213" % (n, n * 12_500)) for n in range(81, 400)]
    said: list[str] = []
    with foreign_board(lines + still, period_s=0.0125) as (path, _):
        station = Station(StationSetup(f"serial:{path}", recording=recording))
        with running(station):
            while not any("same reading again and again" in text for text in said):
                trouble = station.glance().trouble
                said += [trouble.what] if trouble is not None else []
                assert not station.wait(0.01)
    events = [r for r in RecordingReader(recording) if isinstance(r, Event)]
    assert {"kind": "stuck"} in [dict(e.detail) for e in events if e.kind == "fault"]


@posix
def test_lines_that_can_be_read_in_two_ways_are_asked_about_on_the_wall() -> None:
    lines = [b"12,%d\r\n" % (50 + n % 40) for n in range(400)]
    with foreign_board(lines, period_s=0.01) as (path, _):
        station = Station(StationSetup(f"serial:{path}"))
        with running(station):
            while (trouble := station.glance().trouble) is None or "way" not in trouble.what:
                assert not station.wait(0.01)
    assert f"strikebridge boards serial:{path}" in trouble.advice


@posix
@pytest.mark.slow
def test_a_silence_is_an_event_and_so_is_its_end(tmp_path: Path) -> None:
    recording = tmp_path / "a.jsonl"
    lines = board_lines(4.0)
    port = open_pty()
    station = Station(StationSetup(f"serial:{port.path}", recording=recording))
    with running(station):
        while not os.read(port.ours, 10):  # the port is open when it asks who is there
            assert not station.wait(0.01)

        def kinds() -> list[str]:
            if not recording.exists() or not recording.stat().st_size:
                return []  # the port is open a moment before
            return [r.kind for r in RecordingReader(recording) if isinstance(r, Event)]

        for part, kind in ((lines[:40], "quiet"), (lines[40:], "heard")):
            port.write(b"".join(part))
            while kind not in kinds():
                assert not station.wait(0.02)
    port.pull()
