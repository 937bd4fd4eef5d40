"""The commands run and everything in them finds holds; how fast they are is not tested."""

from __future__ import annotations

import sys

import pytest

from tests.benchmarks import analysis, endurance


@pytest.mark.skipif(sys.platform == "win32", reason="memory is asked for the POSIX way")
@pytest.mark.timeout(300)
def test_each_program_finds_the_holds_of_both_files() -> None:
    rows = analysis.table(0.6, (80.0,), 1)
    assert [row.split()[1:3] for row in rows[1:]] == [
        ["table", "ours"],
        ["table", "pandas"],
        ["table", "numpy"],
        ["recording", "ours"],
        ["recording", "json"],
    ]
    assert all(int(row.split()[6]) >= 2 for row in rows[1:])


def test_each_hour_finds_its_holds() -> None:
    rows = endurance.table(0.02, 80.0, 20)
    assert len(rows) == 2
    assert int(rows[1].split()[1]) == 4
