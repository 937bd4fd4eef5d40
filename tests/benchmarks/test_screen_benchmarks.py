"""The screen benchmarks run and measure something; how fast they are is not tested."""

from __future__ import annotations

import numpy as np
import pytest

from tests.benchmarks.start_up import SIDES as WINDOWS
from tests.benchmarks.start_up import table as start_up_table
from tests.benchmarks.wire_to_pixel import SIDES, WARM_UP_S, delays_of, measure
from tests.ptys import posix

pytestmark = [
    pytest.mark.screen,
    pytest.mark.slow,
    posix,
    pytest.mark.timeout(180),
]


@pytest.mark.parametrize("side", SIDES)
def test_lines_are_found_again_in_the_paints(
    side: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    found = measure(side, 80.0, WARM_UP_S + 1.5)
    assert len(found.delay_ms) >= 20
    assert found.delay_ms.min() > 0.0
    assert found.paints > 3


def test_a_line_counts_with_the_first_paint_that_shows_it() -> None:
    rate_hz = 10.0
    first = int(WARM_UP_S * rate_hz)
    written_ns = [index * 100_000_000 for index in range(first + 3)]
    shown = [
        (written_ns[first] + 1_000_000, first),
        (written_ns[first + 2] + 4_000_000, first + 2),
    ]
    delay_ms = delays_of(shown, written_ns, rate_hz)
    assert np.allclose(delay_ms, [1.0, 104.0, 4.0])


def test_both_windows_paint(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    rows = start_up_table(1)
    assert len(rows) == 1 + len(WINDOWS)
