"""A small club goes through every question of the benchmark; nothing is timed here."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import pytest

from strikebridge.store.database import open_store
from tests.benchmarks.ten_year_club import questions, table
from tests.store.made_club import make_club

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = [pytest.mark.slow, pytest.mark.timeout(180)]


def test_every_question_has_an_answer(tmp_path: Path) -> None:
    made = make_club(tmp_path, athletes=8, weeks=6)
    assert made.reps > 300
    with contextlib.closing(open_store(tmp_path)) as store:
        taken = table(store, repeats=2)
        assert [one.asked.what for one in taken] == [one.what for one in questions(store)]
    answers = {one.asked.what: one.rows for one in taken}
    assert answers.pop("sessions not finished") == 0
    assert all(rows > 0 for rows in answers.values())
    assert answers["roster"] == 8
