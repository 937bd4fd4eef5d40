"""Every export format writes and reads back; a new one is tested by being in the table."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.errors import FormatError
from strikebridge.export import FORMATS
from strikebridge.export.dataset import export_format
from tests.export.made_exports import NOTHING, made

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(params=sorted(FORMATS))
def key(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def test_force_and_events_come_back(key: str, tmp_path: Path) -> None:
    dataset = made()
    written = export_format(key).write(dataset, tmp_path / "out")
    assert written.files
    assert all(file.is_file() for file in written.files)
    found = {rep.rep: rep for rep in export_format(key).read(tmp_path / "out").reps}
    for rep in dataset.reps:
        if rep.force is None:
            continue
        force = found[rep.rep].force
        assert force is not None
        assert force.rate_hz == rep.force.rate_hz
        np.testing.assert_allclose(force.force_N, rep.force.force_N, rtol=1e-6)
        np.testing.assert_allclose(force.time_s, rep.force.time_s, atol=1e-6)
        assert [event.label for event in force.events] == ["go", "onset", "release"]
        np.testing.assert_allclose(
            [event.time_s for event in force.events], [12.75, 12.875, 14.25], atol=1e-5
        )
        assert (found[rep.rep].at, found[rep.rep].turn) == (rep.at, rep.turn)


def test_nothing_is_read_back_as_nothing(key: str, tmp_path: Path) -> None:
    export_format(key).write(NOTHING, tmp_path)
    assert export_format(key).read(tmp_path) == NOTHING


def test_a_folder_that_cannot_be_made_is_said(key: str, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(FormatError, match="cannot be written"):
        export_format(key).write(made(), tmp_path / "taken")


def test_cut_files_are_refused(key: str, tmp_path: Path) -> None:
    written = export_format(key).write(made(), tmp_path)
    tables = [file for file in written.files if not file.name.endswith("-metadata.json")]
    whole = tables[0].read_bytes()
    tables[0].write_bytes(whole[: len(whole) // 3])
    with pytest.raises(FormatError):
        export_format(key).read(tmp_path)
