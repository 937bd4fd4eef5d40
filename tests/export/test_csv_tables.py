"""CSV: whole round trip, formulas stay text, metadata say the units."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.errors import FormatError
from strikebridge.export.csv_tables import CsvTables, guarded, unguarded
from tests.export.made_exports import NAMES, made

if TYPE_CHECKING:
    from pathlib import Path


def test_everything_comes_back_to_the_last_digit(tmp_path: Path) -> None:
    dataset = made(even=False)
    CsvTables().write(dataset, tmp_path)
    assert CsvTables().read(tmp_path) == dataset


@given(st.text())
def test_guarding_is_undone_and_leaves_no_formula(text: str) -> None:
    cell = guarded(text)
    assert unguarded(cell) == text
    assert cell[:1] not in set("=+-@\t\r\n")


@pytest.mark.parametrize("name", NAMES[:4])
def test_a_name_that_is_a_formula_stays_text(name: str, tmp_path: Path) -> None:
    CsvTables().write(made(names=(name,)), tmp_path)
    cells = (tmp_path / "reps.csv").read_text().split("\n")[1].split(",", 1)
    assert cells[1].lstrip('"').startswith(f"'{name[0]}")


def test_numbers_stay_numbers(tmp_path: Path) -> None:
    CsvTables().write(made(), tmp_path)
    assert "sag,-1.25,%/s" in (tmp_path / "measures.csv").read_text()


def test_metadata_name_every_column_and_its_unit(tmp_path: Path) -> None:
    written = CsvTables().write(made(), tmp_path)
    for file in written.files:
        if file.suffix == ".csv":
            about = json.loads(file.with_name(f"{file.name}-metadata.json").read_text())
            assert about["@context"] == "http://www.w3.org/ns/csvw"
            assert about["url"] == file.name
            names = [column["name"] for column in about["tableSchema"]["columns"]]
            assert names == file.read_text().split("\n")[0].strip().split(",")
    columns = json.loads((tmp_path / "force.csv-metadata.json").read_text())["tableSchema"]
    units = [one.get("http://qudt.org/schema/qudt/ucumCode") for one in columns["columns"]]
    assert units == [None, "s", "N"]


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("reps.csv", b"rep,athlete\r\n", "does not have the columns"),
        ("reps.csv", b"", "does not have the columns"),
        ("force.csv", b"rep,time_s,force_N\r\n1,2,three\r\n", "not as it was written"),
        ("force.csv", b"rep,time_s,force_N\r\n1,2\r\n", "not as it was written"),
        ("force.csv", b"\xff\xfe", "UTF-8"),
    ],
)
def test_broken_tables_are_said(name: str, content: bytes, words: str, tmp_path: Path) -> None:
    CsvTables().write(made(), tmp_path)
    (tmp_path / name).write_bytes(content)
    with pytest.raises(FormatError, match=words):
        CsvTables().read(tmp_path)


def test_a_broken_cell_is_found_by_its_line(tmp_path: Path) -> None:
    CsvTables().write(made(), tmp_path)
    (tmp_path / "force.csv").write_text("rep,time_s,force_N\n1,0.5,2\n1,x,2\n")
    with pytest.raises(FormatError) as caught:
        CsvTables().read(tmp_path)
    assert caught.value.line == 3


def test_a_missing_table_is_said(tmp_path: Path) -> None:
    with pytest.raises(FormatError, match="cannot be read"):
        CsvTables().read(tmp_path)
