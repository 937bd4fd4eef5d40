"""JSON of everything, the table of formats, files written whole."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from strikebridge.errors import FormatError
from strikebridge.export.dataset import export_format, put_file
from strikebridge.export.json_document import NAME, JsonDocument
from tests.export.made_exports import made

if TYPE_CHECKING:
    from pathlib import Path


def test_everything_comes_back_to_the_last_digit(tmp_path: Path) -> None:
    dataset = made(even=False)
    JsonDocument().write(dataset, tmp_path)
    assert JsonDocument().read(tmp_path) == dataset
    text = (tmp_path / NAME).read_text()
    assert "NaN" not in text
    assert "Infinity" not in text


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("{", "no export"),
        ('{"version": 1, "data": {}}', "no export"),
        ('{"version": 1, "data": {"reps": [{"measures": null}]}}', "no export"),
        ('{"version": 1, "data": {"reps": [{"measures": []}]}}', "no export"),
        ('{"version": 2, "data": {}}', "newer strikebridge"),
    ],
)
def test_other_documents_are_refused(content: str, words: str, tmp_path: Path) -> None:
    (tmp_path / NAME).write_text(content)
    with pytest.raises(FormatError, match=words):
        JsonDocument().read(tmp_path)


def test_an_unknown_format_is_said_with_those_there_are() -> None:
    with pytest.raises(FormatError, match="c3d, csv, json"):
        export_format("xls")


def test_files_are_for_the_user_alone_and_leave_nothing_half(tmp_path: Path) -> None:
    put_file(tmp_path / "one", b"x")
    assert (tmp_path / "one").stat().st_mode & 0o077 == 0
    (tmp_path / "folder" / "in").mkdir(parents=True)
    with pytest.raises(FormatError, match="cannot be written"):
        put_file(tmp_path / "folder", b"y")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder", "one"]
