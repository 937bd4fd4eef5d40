"""Nothing is put in place of a data folder while something is recorded into it."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import threading
import time
from typing import TYPE_CHECKING

import pytest

from strikebridge.cli import run
from strikebridge.errors import SafekeepingError
from strikebridge.recording import RecordingReader
from strikebridge.safekeeping.backup import make_backup
from strikebridge.safekeeping.contents import set_aside
from strikebridge.safekeeping.one_at_a_time import (
    IS_RECORDED,
    RECORDING,
    RESTORING,
    nobody_records,
    one_at_a_time,
    recording_in,
)
from strikebridge.safekeeping.restore import restore_backup, take_back
from tests.running import WITHIN_S
from tests.safekeeping.made import fill, state_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

pytestmark = pytest.mark.timeout(120)


@pytest.fixture
def backup(tmp_path: Path) -> Path:
    fill(tmp_path / "data")
    return make_backup(tmp_path / "data", tmp_path / "b.zip").path


@pytest.fixture
def recorder(tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    """A `record` beside, in another program, into the recordings of the data folder."""
    data = tmp_path / "data"
    command = [sys.executable, "-m", "strikebridge", "record", "simulated:?seed=2"]
    words = ["--output", str(data / "recordings" / "now.jsonl"), "--data", str(data), "--json"]
    with subprocess.Popen([*command, *words], stdout=subprocess.PIPE, text=True) as process:
        yield process
        process.kill()


def is_alone(data: Path) -> bool:
    try:
        with nobody_records(data, wait_s=0.0), one_at_a_time(data):
            return True
    except SafekeepingError:
        return False


def grown_beyond(size: int, file: Path, recorder: subprocess.Popen[str]) -> None:
    """Wait until a recording is longer than that."""
    deadline_s, clock = time.monotonic() + WITHIN_S, threading.Event()
    while not (file.exists() and file.stat().st_size > size):
        assert recorder.poll() is None
        assert time.monotonic() < deadline_s
        clock.wait(0.02)


def test_a_restore_is_refused_while_record_writes_there(
    tmp_path: Path, backup: Path, recorder: subprocess.Popen[str]
) -> None:
    data, written = tmp_path / "data", tmp_path / "data" / "recordings" / "now.jsonl"
    grown_beyond(2000, written, recorder)
    with pytest.raises(SafekeepingError, match=re.escape(IS_RECORDED)):
        restore_backup(data, backup)
    with pytest.raises(SafekeepingError, match=re.escape(IS_RECORDED)):
        take_back(data)
    assert not set_aside(data)
    grown_beyond(written.stat().st_size, written, recorder)  # it goes on where it was
    make_backup(data, tmp_path / "meanwhile.zip")  # that is allowed
    recorder.kill()
    recorder.wait(WITHIN_S)
    assert len(list(RecordingReader(written))) > 10
    restore_backup(data, backup)  # a killed program has let go
    assert len(set_aside(data)) == 1


def test_several_may_record_and_all_have_to_end(
    tmp_path: Path, backup: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = tmp_path / "data"
    monkeypatch.setattr("strikebridge.safekeeping.one_at_a_time.WAIT_S", 0.0)
    before = state_of(data)
    with recording_in(data):
        with recording_in(data):
            assert not is_alone(data)
        assert not is_alone(data)
    assert is_alone(data)
    with nobody_records(data), pytest.raises(SafekeepingError, match=re.escape(RESTORING)):
        recording_in(data).__enter__()
    restore_backup(data, backup)
    assert state_of(data) == before


@pytest.mark.parametrize(
    ("where", "is_refused"), [("data/recordings/late.jsonl", True), ("late.jsonl", False)]
)
def test_record_waits_for_a_restore_only_where_it_concerns_it(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    where: str,
    *,
    is_refused: bool,
) -> None:
    data = tmp_path / "data"
    (data / "recordings").mkdir(parents=True)
    monkeypatch.setattr("strikebridge.safekeeping.one_at_a_time.WAIT_S", 0.0)
    words = ["record", "simulated:?seed=2&speed=max", "--seconds", "2", "--json"]
    with nobody_records(data):
        code = run([*words, "--output", str(tmp_path / where), "--data", str(data)])
    said = capsys.readouterr()
    if is_refused:
        assert code == 1
        assert RESTORING in " ".join(said.err.split())
        assert not (tmp_path / where).exists()
    else:
        assert code == 0
        assert json.loads(said.out)["readings"] > 0


def test_a_recording_elsewhere_leaves_nothing_in_the_data_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["record", "simulated:?seed=2&speed=max", "--seconds", "2", "--json"]
    data = tmp_path / "data"
    assert run([*words, "--output", str(tmp_path / "a.jsonl"), "--data", str(data)]) == 0
    assert not (data / RECORDING).exists()
    capsys.readouterr()
