"""Whose tests count for a retest, and why the others do not."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from strikebridge.progress.retest_table import retest_table
from strikebridge.progress.score import Score

START = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


def scores(*days_and_values: tuple[float, float]) -> tuple[Score, ...]:
    return tuple(
        Score(f"s{day}", START + timedelta(days=day), value, "N", 3, 3, 2.0, ())
        for day, value in days_and_values
    )


def test_the_newest_tests_of_each_count() -> None:
    runs = {
        "a": scores((0.0, 700.0), (7.0, 710.0), (14.0, 720.0)),
        "b": scores((1.0, 600.0), (15.0, 610.0)),  # fourteen days are within
        "c": scores((0.0, 500.0)),
        "d": scores((0.0, 400.0), (14.1, 410.0)),
    }
    table = retest_table(runs)
    assert table.athletes == ("a", "b")
    assert table.values == ((710.0, 720.0), (600.0, 610.0))
    assert table.first_at == START + timedelta(days=1)
    assert table.last_at == START + timedelta(days=15)
    assert table.left_out == {"c": "1 of 2 tests", "d": "tests more than 14 days apart"}


def test_three_tests_and_none() -> None:
    runs = {"a": scores((0.0, 700.0), (7.0, 710.0), (14.0, 720.0))}
    assert retest_table(runs, tests=3).values == ((700.0, 710.0, 720.0),)
    empty = retest_table({})
    assert (empty.athletes, empty.first_at, empty.last_at) == ((), None, None)


def test_one_test_is_no_retest() -> None:
    with pytest.raises(ValueError, match="two tests"):
        retest_table({}, tests=1)
