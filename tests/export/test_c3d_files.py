"""C3D: even times, what is said of resampling, files that are no longer whole."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.errors import FormatError
from strikebridge.export.c3d_files import C3dFiles
from strikebridge.export.dataset import Dataset, ForceTrace
from strikebridge.export.even import evened
from tests.export.made_exports import made, trace

if TYPE_CHECKING:
    from pathlib import Path


def test_even_readings_are_untouched() -> None:
    source = trace(even=True)
    even = evened(source, 80.0)
    assert not even.is_resampled
    assert even.force_N.tolist() == list(source.force_N)


def test_uneven_readings_are_put_on_a_line() -> None:
    source = ForceTrace((1.0, 1.5, 3.0), (0.0, 50.0, 200.0), 2.0)
    even = evened(source, 2.0)
    assert even.is_resampled
    assert even.force_N.tolist() == [0.0, 50.0, 100.0, 150.0, 200.0]
    assert even.start_s == 1.0


def test_a_lost_reading_is_bridged_and_said() -> None:
    source = trace(even=True)
    lost = replace(
        source,
        time_s=source.time_s[:40] + source.time_s[41:],
        force_N=source.force_N[:40] + source.force_N[41:],
    )
    even = evened(lost, 80.0)
    assert even.is_resampled
    assert len(even.force_N) == len(source.force_N)


def test_resampled_and_left_out_are_said(tmp_path: Path) -> None:
    written = C3dFiles().write(made(even=False), tmp_path)
    assert len(written.files) == 7
    assert "7 of 7 curves" in written.cautions[0]
    assert "1 of 8 reps" in written.cautions[1]
    assert C3dFiles().write(Dataset(made().reps[:1]), tmp_path / "even").cautions == ()


def test_words_come_back_without_what_c3d_cannot_hold(tmp_path: Path) -> None:
    long = replace(made().reps[7], athlete="é" * 200, cue="")
    C3dFiles().write(Dataset((long,)), tmp_path)
    (found,) = C3dFiles().read(tmp_path).reps
    assert found.athlete == "é" * 127  # 255 bytes at most, no letter cut
    assert (found.cue, found.exercise, found.set_number) == ("", "rear-straight", 1)


def test_a_rep_without_events_has_none(tmp_path: Path) -> None:
    force = replace(trace(even=True), events=())
    C3dFiles().write(Dataset((replace(made().reps[0], force=force),)), tmp_path)
    (found,) = C3dFiles().read(tmp_path).reps
    assert found.force is not None
    assert found.force.events == ()


def test_a_file_that_is_not_whole_is_refused(tmp_path: Path) -> None:
    (file,) = C3dFiles().write(Dataset(made().reps[:1]), tmp_path).files
    whole = file.read_bytes()
    for size in (0, 100, 600, len(whole) - 512):
        file.write_bytes(whole[:size])
        with pytest.raises(FormatError):
            C3dFiles().read(tmp_path)


def test_a_minute_is_kept_apart(tmp_path: Path) -> None:
    time_s = tuple((np.arange(700) / 10.0).tolist())
    long = replace(trace(even=True), time_s=time_s, force_N=time_s, rate_hz=10.0)
    late = replace(long, events=(replace(long.events[0], time_s=65.5),))
    C3dFiles().write(Dataset((replace(made().reps[0], force=late),)), tmp_path)
    (found,) = C3dFiles().read(tmp_path).reps
    assert found.force is not None
    assert found.force.events[0].time_s == pytest.approx(65.5)
