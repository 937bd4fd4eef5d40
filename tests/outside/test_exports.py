"""Exports read back by libraries that strikebridge does not use to write them.

C3D by ezc3d; CSV by pandas.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import ezc3d
import numpy as np
import pandas as pd

from strikebridge.export.c3d_files import C3dFiles
from strikebridge.export.csv_tables import CsvTables
from strikebridge.export.dataset import Dataset
from tests.export.made_exports import NAMES, made

if TYPE_CHECKING:
    from pathlib import Path


def test_c3d_says_the_same_to_another_reader(tmp_path: Path) -> None:
    rep = made().reps[0]
    assert rep.force is not None
    (file,) = C3dFiles().write(Dataset((rep,)), tmp_path).files
    found = ezc3d.c3d(str(file))
    analog = found["parameters"]["ANALOG"]
    assert analog["LABELS"]["value"] == ["FORCE"]
    assert analog["UNITS"]["value"] == ["N"]
    assert analog["DESCRIPTIONS"]["value"] == ["force above the tracked zero, as sampled"]
    assert analog["RATE"]["value"][0] == 80.0
    force_N = found["data"]["analogs"][0, 0]
    np.testing.assert_allclose(force_N, rep.force.force_N, rtol=1e-7, atol=1e-5)
    events = found["parameters"]["EVENT"]
    assert events["LABELS"]["value"] == ["go", "onset", "release"]
    assert events["USED"]["value"][0] == 3
    times = events["TIMES"]["value"]
    np.testing.assert_allclose(times[0], 0.0)
    np.testing.assert_allclose(times[1], [0.25, 0.375, 1.75], atol=1e-6)


def test_resampling_is_said_in_the_file(tmp_path: Path) -> None:
    rep = made(even=False).reps[0]
    assert rep.force is not None
    (file,) = C3dFiles().write(Dataset((rep,)), tmp_path).files
    found = ezc3d.c3d(str(file))
    words = found["parameters"]["ANALOG"]["DESCRIPTIONS"]["value"][0]
    assert "resampled to even times" in words
    grid_s = rep.force.time_s[0] + np.arange(found["data"]["analogs"].shape[2]) / 80.0
    expected = np.interp(grid_s, rep.force.time_s, rep.force.force_N)
    np.testing.assert_allclose(found["data"]["analogs"][0, 0], expected, rtol=1e-6, atol=1e-4)


def test_csv_says_the_same_to_another_reader(tmp_path: Path) -> None:
    dataset = made(even=False)
    CsvTables().write(dataset, tmp_path)
    reps = pd.read_csv(tmp_path / "reps.csv", keep_default_na=False)
    assert [str(name).removeprefix("'") for name in reps["athlete"]] == list(NAMES)
    force = pd.read_csv(tmp_path / "force.csv")
    for rep in dataset.reps:
        mine = force[force["rep"] == rep.rep]
        expected = () if rep.force is None else rep.force.force_N
        np.testing.assert_allclose(mine["force_N"], expected, rtol=1e-12)
    measures = pd.read_csv(tmp_path / "measures.csv")
    peaks = measures[measures["name"] == "peak_force"]
    assert set(peaks["value"]) == {612.25}
    assert set(peaks["unit"]) == {"N"}
