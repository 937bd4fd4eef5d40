"""Readings become rows of one matrix, and holes between them a straight line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strikebridge.holds.rows import (
    FLAGS,
    FORCE,
    MISSING,
    NUMBER,
    TIME,
    breaks,
    bridge,
    room,
    rows_of,
)
from strikebridge.samples import Flag, ForceBlock


@pytest.mark.parametrize(
    ("force_N", "flags"), [(5.0, 0), (np.nan, 0), (5.0, int(Flag.BAD_WORD)), (np.inf, 2)]
)
def test_one_reading_is_laid_out_as_many_are(force_N: float, flags: int) -> None:
    single = ForceBlock(
        number=np.array([7]),
        time_s=np.array([0.25]),
        force_N=np.array([force_N]),
        cells_N=np.array([[force_N, 2.0]]),
        u_own_N=np.array([0.1]),
        u_common_N=np.array([0.2]),
        flags=np.array([flags], np.uint16),
        rate_hz=80.0,
        calibration=None,
    )
    arrays = {
        name: np.concatenate([getattr(single, name)] * 2)
        for name in ("number", "time_s", "force_N", "cells_N", "u_own_N", "u_common_N", "flags")
    }
    both = rows_of(replace(single, **arrays))  # type: ignore[arg-type] # arrays by name
    assert rows_of(single).tolist() == both[: len(both) // 2].tolist()


def test_a_hole_is_bridged_by_a_straight_line_that_is_marked() -> None:
    rows = room(3, 9)
    rows[:] = 0.0
    rows[:, NUMBER] = [10.0, 11.0, 14.0]
    rows[:, FORCE] = [0.0, 3.0, 9.0]
    filled = bridge(rows)
    assert filled[:, NUMBER].tolist() == [10.0, 11.0, 12.0, 13.0, 14.0]
    assert filled[:, FORCE].tolist() == [0.0, 3.0, 5.0, 7.0, 9.0]
    assert filled[:, MISSING].tolist() == [0.0, 0.0, 1.0, 1.0, 0.0]
    assert filled[:, FLAGS].tolist() == [0.0, 0.0, Flag.BAD_WORD, Flag.BAD_WORD, 0.0]
    assert bridge(filled) is filled


def test_a_run_breaks_at_a_hole_of_more_than_half_a_second() -> None:
    rows = room(4, 9)
    rows[:] = 0.0
    rows[:, NUMBER] = [0.0, 1.0, 2.0, 3.0]
    for hole_s, expected in ((0.4, []), (0.6, [2])):
        rows[:, TIME] = [0.0, 0.0125, 0.0125 + hole_s, 0.025 + hole_s]
        assert breaks(rows, None, 80.0) == expected
