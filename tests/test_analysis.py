"""One file, offline: recordings and tables through the same pipeline as a live board."""

import threading
from pathlib import Path

import numpy as np
import pytest

from strikebridge.analysis import analyse_file, is_recording
from strikebridge.boards.address import make_decoder
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.boards.table_file import BLOCK_ROWS
from strikebridge.calibration.apply import Calibration
from strikebridge.errors import CalibrationError, FormatError, RecordingError
from strikebridge.pipeline import Outcome, Pipeline
from strikebridge.recording import Header, RecordingReader, RecordingWriter
from strikebridge.samples import Chunk, Contact, Effort, Gap, Prescription, Rep
from strikebridge.stream_setup import Setup, setup_for
from tests.cli.streams import (
    LENGTH_S,
    count_table,
    force_table,
    held_force,
    simulated_recording,
    write_table,
)


def test_a_table_and_its_counts_give_the_same_holds(tmp_path: Path) -> None:
    newtons = analyse_file(force_table(tmp_path / "force.csv"), Setup())
    gain = Setup(Calibration.by_hand(-1e-3, 5e5))
    counts = analyse_file(count_table(tmp_path / "count.csv", -1e-3, 5e5), gain)
    assert (newtons.recording, newtons.calibration) == ("force.csv", None)
    assert (counts.recording, counts.calibration) == ("count.csv", "by hand")
    assert newtons.settling_s is None
    for one, other in zip(newtons.reps, counts.reps, strict=True):
        assert one.hold.onset_s == pytest.approx(other.hold.onset_s, abs=2e-3)
        for name in ("peak_force", "hold_mean"):
            a, b = one.measures[name], other.measures[name]
            assert a.value is not None
            assert b.value == pytest.approx(a.value, abs=0.01)


def test_a_short_tap_is_a_contact(tmp_path: Path) -> None:
    time_s, force_N = held_force()
    force_N = force_N + 300.0 * np.exp(-(((time_s - 20.0) / 0.05) ** 2))
    rows = ((f"{t:.4f}", f"{f:.5g}") for t, f in zip(time_s, force_N, strict=True))
    found = analyse_file(write_table(tmp_path / "a.csv", "time_s,force_N", rows), Setup())
    assert [rep.hold.number for rep in found.reps] == [1, 2]
    (tap,) = found.contacts
    assert tap.peak_N == pytest.approx(300.0, rel=0.05)
    assert 19.7 < tap.start_s < 20.0 < tap.end_s < 20.5
    assert tap.reason


def test_missing_rows_are_a_gap(tmp_path: Path) -> None:
    time_s, force_N = held_force()
    keep = (time_s < 10.0) | (time_s >= 10.5)
    rows = ((f"{t:.4f}", f"{f:.5g}") for t, f in zip(time_s[keep], force_N[keep], strict=True))
    found = analyse_file(write_table(tmp_path / "a.csv", "time_s,force_N", rows), Setup())
    assert sum(gap.lost for gap in found.gaps) == pytest.approx(40, abs=1)
    (gap,) = found.gaps
    assert gap.start_s == pytest.approx(10.0, abs=0.02)
    assert gap.end_s == pytest.approx(10.5, abs=0.02)


def test_what_was_prescribed_overrules_the_recording(tmp_path: Path) -> None:
    path = simulated_recording(tmp_path / "a.jsonl", seconds=10.0)
    as_said = analyse_file(path, Setup()).reps[0].prescription
    assert as_said == Prescription(Effort.MAXIMAL, 3.0)
    asked = Prescription(Effort.SUBMAXIMAL, 2.0, (300.0, 500.0))
    assert analyse_file(path, Setup(prescription=asked)).reps[0].prescription == asked


def test_a_recording_says_all_about_itself(tmp_path: Path) -> None:
    path = simulated_recording(tmp_path / "a.jsonl")
    found = analyse_file(path, Setup())
    board = SimulatedBoard(BoardModel(seed=3))
    assert found.rate_hz == pytest.approx(board.real_rate_hz, rel=1e-3)
    assert found.settling_s == pytest.approx(4.0 / 80.0)
    assert found.calibration == board.certificate().id
    assert [rep.hold.go_s for rep in found.reps] == pytest.approx([4.0, 12.0], abs=0.02)
    assert found.remarks == ()


@pytest.mark.parametrize("at_once", [1, 7, 100_000])
def test_the_size_of_the_blocks_changes_nothing(tmp_path: Path, at_once: int) -> None:
    path = simulated_recording(tmp_path / "a.jsonl", lost_share=0.01, seconds=10.0)
    expected = analyse_file(path, Setup())
    reader = RecordingReader(path)
    pipeline = Pipeline(make_decoder(), setup_for(reader.header, Setup()))
    records, outcomes = list(reader), list[Outcome]()
    for k in range(0, len(records), at_once):
        outcomes += pipeline.feed(records[k : k + at_once])
    outcomes += pipeline.finish()
    reps = [one for one in outcomes if isinstance(one, Rep)]
    assert [rep.measures for rep in reps] == [rep.measures for rep in expected.reps]
    assert [rep.bricks for rep in reps] == [rep.bricks for rep in expected.reps]
    assert tuple(one for one in outcomes if isinstance(one, Gap)) == expected.gaps
    assert tuple(one for one in outcomes if isinstance(one, Contact)) == expected.contacts


def test_what_is_said_beforehand_goes_before_the_header(tmp_path: Path) -> None:
    header = Header(
        board="simulated:",
        started="2026-11-25T10:00:00+00:00",
        nominal_rate_hz=80.0,
        settling_s=0.05,
    )
    RecordingWriter(tmp_path / "a.jsonl", header).close()
    reader = RecordingReader(tmp_path / "a.jsonl")
    taken = setup_for(reader.header, Setup())
    assert (taken.nominal_rate_hz, taken.settling_s, taken.calibration) == (80.0, 0.05, None)
    by_hand = Calibration.by_hand(1e-3, 0.0)
    said = Setup(by_hand, nominal_rate_hz=10.0, settling_s=0.0)
    assert setup_for(reader.header, said) == said


def test_raw_counts_ask_for_a_calibration(tmp_path: Path) -> None:
    for path in (
        count_table(tmp_path / "a.csv", 1e-3, 0.0),
        simulated_recording(tmp_path / "a.jsonl", seconds=2.0, is_calibrated=False),
    ):
        with pytest.raises(CalibrationError, match="holds raw counts"):
            analyse_file(path, Setup())


def test_a_calibration_on_newtons_is_refused(tmp_path: Path) -> None:
    path = force_table(tmp_path / "a.csv")
    with pytest.raises(CalibrationError, match="Leave the calibration out"):
        analyse_file(path, Setup(Calibration.by_hand(1e-3, 0.0)))


def test_an_altered_certificate_in_a_recording_is_refused(tmp_path: Path) -> None:
    path = simulated_recording(tmp_path / "a.jsonl", seconds=2.0)
    text = path.read_text()
    path.write_text(text.replace('"u_relative":0.005', '"u_relative":0.001', 1))
    assert path.read_text() != text
    with pytest.raises(CalibrationError, match="altered"):
        analyse_file(path, Setup())


def test_a_recording_without_readings(tmp_path: Path) -> None:
    header = Header(board="serial:x", started="2026-11-25T10:00:00+00:00")
    RecordingWriter(tmp_path / "none.jsonl", header).close()
    with pytest.raises(RecordingError, match=r"There are no readings in .*none.jsonl\.$"):
        analyse_file(tmp_path / "none.jsonl", Setup())
    writer = RecordingWriter(tmp_path / "noise.jsonl", header)
    for k in range(30):
        writer.append(Chunk("serial:x", 100_000 * k, b"\xff\xfe\x80%\n"))
    writer.close()
    with pytest.raises(RecordingError, match=r"\d+ lines could not be read"):
        analyse_file(tmp_path / "noise.jsonl", Setup())


def long_table(path: Path, column: str, odd: str) -> Path:
    rows = [f"{i / 1000:.3f},{i % 7}\n" for i in range(3 * BLOCK_ROWS)]
    rows[20_000] = odd
    path.write_text(f"time_s,{column}\n" + "".join(rows))
    return path


def test_a_table_that_is_wrong_far_down_is_refused_and_nothing_goes_on(tmp_path: Path) -> None:
    path = long_table(tmp_path / "long.csv", "count_1", "20.000,1x\n")
    with pytest.raises(FormatError, match="line 20002, column count_1"):
        analyse_file(path, Setup(calibration=Calibration.by_hand(1.0)))
    assert not [one for one in threading.enumerate() if one.name.startswith("table")]


def test_reading_ends_where_the_pipeline_refuses(tmp_path: Path) -> None:
    path = long_table(tmp_path / "long.csv", "force_N", "20.000,1\n")
    with pytest.raises(CalibrationError, match="Leave the calibration out"):
        analyse_file(path, Setup(calibration=Calibration.by_hand(1.0)))
    assert not [one for one in threading.enumerate() if one.name.startswith("table")]


def test_a_table_without_readings(tmp_path: Path) -> None:
    path = write_table(tmp_path / "a.csv", "time_s,force_N", [])
    with pytest.raises((FormatError, RecordingError), match=r"a\.csv"):
        analyse_file(path, Setup())


def test_damage_is_remarked(tmp_path: Path) -> None:
    path = simulated_recording(tmp_path / "a.jsonl", seconds=10.0)
    lines = path.read_bytes().splitlines(keepends=True)
    lines[200] = b'{"at_us":1,"text":\n'
    lines[300] = lines[300].replace(b"S,", b"S;")
    path.write_bytes(b"".join(lines) + b'{"at_us')
    found = analyse_file(path, Setup())
    assert found.remarks == (
        "2 damaged lines of a.jsonl were left out.",
        "1 lines of the board could not be read.",
    )
    assert sum(gap.lost for gap in found.gaps) == 2
    assert len(found.reps) == 1


def test_a_recording_is_told_from_a_table(tmp_path: Path) -> None:
    assert is_recording(simulated_recording(tmp_path / "a.jsonl", seconds=1.0))
    assert not is_recording(force_table(tmp_path / "a.csv"))
    with pytest.raises(RecordingError, match="cannot be read"):
        is_recording(tmp_path / "missing")


@pytest.mark.parametrize(
    ("gain", "per_second", "said"),
    [
        (-1.0, 1.0, "mounted the wrong way round"),
        (20.0, 1.0, "more than anybody can hold"),
        (0.05, 1.0, "gain is probably too small"),
        (1.0, 1000.0, "looks like milliseconds"),
        (1.0, 1.0, ""),
    ],
)
def test_what_is_not_plausible_is_remarked(
    tmp_path: Path, gain: float, per_second: float, said: str
) -> None:
    time_s, force_N = held_force()
    time_s = np.concatenate((time_s, time_s + LENGTH_S))
    force_N = gain * np.concatenate((force_N, force_N))
    rows = zip((per_second * time_s).tolist(), force_N.tolist(), strict=True)
    cells = ((f"{t:.4f}", f"{f:.5g}") for t, f in rows)
    found = analyse_file(write_table(tmp_path / "a.csv", "time_s,force_N", cells), Setup())
    assert any(said in remark for remark in found.remarks) is bool(said)
    assert len(found.remarks) == bool(said)
