"""The start page says when the last backup was made, and makes another beside it."""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from strikebridge.cli.backup_row import FIRST, back_up_again, backup_row
from strikebridge.safekeeping.backup import make_backup
from strikebridge.safekeeping.outside import Kind, note_outside
from strikebridge.screens.start_model import Lead, Standing
from tests.safekeeping.made import fill

if TYPE_CHECKING:
    from pathlib import Path

NOW = datetime.now().astimezone()


@pytest.mark.parametrize(
    ("days", "words", "standing"),
    [
        (0, "made today", Standing.READY),
        (1, "made a day ago", Standing.READY),
        (6, "made 6 days ago", Standing.READY),
        (8, "made 8 days ago", Standing.LATER),
    ],
)
def test_an_old_backup_is_said_and_leads_to_a_new_one(
    tmp_path: Path, days: int, words: str, standing: Standing
) -> None:
    data, stick = tmp_path / "data", tmp_path / "stick"
    fill(data)
    stick.mkdir()
    make_backup(data, stick)
    note_outside(data, Kind.RESTORED, tmp_path)  # that is no backup of today
    row = backup_row(data, datetime.now().astimezone() + timedelta(days=days))
    assert words in row.words
    assert str(stick) in row.words
    assert (row.standing, row.lead) == (standing, Lead.BACKUP)


def test_another_one_lies_beside_it(tmp_path: Path) -> None:
    data, stick = tmp_path / "data", tmp_path / "stick"
    fill(data)
    stick.mkdir()
    assert back_up_again(data) == FIRST
    make_backup(data, stick / "first.zip")
    assert "read back and found right" in back_up_again(data)
    assert len(list(stick.iterdir())) == 2
    shutil.rmtree(stick)
    row = backup_row(data, NOW)
    assert "not there now" in row.words
    assert row.lead is None


def test_without_one_the_first_is_made_in_a_terminal(tmp_path: Path) -> None:
    row = backup_row(tmp_path, NOW)
    assert (row.words, row.lead) == ("There is nothing to keep yet.", None)
    fill(tmp_path / "data")
    assert backup_row(tmp_path / "data", NOW).words == FIRST
