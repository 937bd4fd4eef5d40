"""Calibration points as a table, read and written.

The table is CSV (RFC 4180) with a header: `mass_kg` or `force_N`, `reading` (or `reading_1` to
`reading_4` where a platform stands on several cells), and as wanted `tolerance_kg`, `direction`
(up or down), `run`, `plates` (what lies on the cell, as `A+B`), `time_s` (when it was read).
Plates named `make/name` share one make and with it one error; all others stand alone.
"""

from __future__ import annotations

import csv
import io
import math
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from strikebridge.calibration.plates import DIRECTION_WORDS
from strikebridge.calibration.points import Points, Row
from strikebridge.errors import FormatError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from strikebridge.calibration.certificate import PlateRecord
    from strikebridge.calibration.walk_view import TakenPoint

LOADS = ("mass_kg", "force_N")
CELLS = ("reading_1", "reading_2", "reading_3", "reading_4")
KNOWN = (*LOADS, "reading", *CELLS, "tolerance_kg", "direction", "run", "plates", "time_s")
MEASURED = ("mass", "force", "load", "weight", "tolerance", "reading")
"""Beginnings of a column's name that would be missed if it were passed over in silence."""
MOST_ROWS = 1000
"""A walk has a few dozen steps; more lines are a recording, not means of steps."""
MOST_KG = 2000.0
"""No stack of plates weighs that: the numbers are grams."""
MOST = 1e12
"""Larger numbers are slips of the key and would drown the arithmetic."""
DIRECTIONS = {word: direction for direction, word in DIRECTION_WORDS.items()}


def read_points(path: Path) -> Points:
    """Read a table of calibration points.

    Args:
        path: the file.

    Returns:
        The table.

    Raises:
        FormatError: names line and column of what is wrong.
    """
    return parse_points(table_text(path))


def table_text(path: Path) -> str:
    """Read the text of a table.

    Args:
        path: the file.

    Returns:
        Its text, without the mark that spreadsheets put in front.

    Raises:
        FormatError: it cannot be read, or is no text in UTF-8.
    """
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        msg = f"The table {path} cannot be read ({error.strerror}). Check its name."
        raise FormatError(msg) from error
    except UnicodeDecodeError as error:
        msg = f"{path} is not text in UTF-8. Save it as CSV (UTF-8)."
        raise FormatError(msg) from error


def parse_points(text: str) -> Points:
    """Read a table of calibration points from its text.

    Args:
        text: CSV with a header line.

    Returns:
        The table.

    Raises:
        FormatError: names line and column of what is wrong.
    """
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    header: list[str] | None = None
    column: Literal["mass_kg", "force_N"] = "mass_kg"
    rows: list[Row] = []
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if header is None:
                header = [cell.strip() for cell in cells]
                column = _check_header(header, reader.line_num)
                continue
            if len(cells) != len(header):
                msg = (
                    f"Line {reader.line_num} has {len(cells)} fields, the header has"
                    f" {len(header)} columns ({', '.join(header)}). Decimals need a point."
                )
                raise FormatError(msg, line=reader.line_num)
            fields = dict(zip(header, map(str.strip, cells), strict=True))
            if len(rows) == MOST_ROWS:
                msg = (
                    f"Line {reader.line_num}: more than {MOST_ROWS} lines are no plate walk."
                    " Put one line a step, with the mean of its readings."
                )
                raise FormatError(msg, line=reader.line_num, column="reading")
            rows.append(_row(fields, column, reader.line_num))
    except csv.Error as error:
        msg = f"Line {reader.line_num} is no CSV ({error}). Check its quotation marks."
        raise FormatError(msg, line=reader.line_num) from error
    if not rows:
        msg = (
            "The table holds no points: line 1 must name the columns, such as mass_kg,reading,"
            " and each further line is a step."
        )
        raise FormatError(msg, line=1, column="reading")
    _check_times(rows)
    return Points(tuple(rows), column)


def _check_times(rows: list[Row]) -> None:
    latest_s = -math.inf
    for row in rows:
        if row.time_s is not None and row.time_s < latest_s:
            msg = (
                f"Line {row.line}, column time_s: {row.time_s:g} s lies before the line above"
                " it. Put the steps in the order in which they were done."
            )
            raise FormatError(msg, line=row.line, column="time_s")
        latest_s = latest_s if row.time_s is None else row.time_s


def _check_header(header: list[str], line: int) -> Literal["mass_kg", "force_N"]:
    if all(_is_number(name) for name in header):
        msg = (
            f"Line {line} holds numbers, not the names of the columns. Put a header above it:"
            " mass_kg (or force_N) and reading."
        )
        raise FormatError(msg, line=line, column=header[0])
    for name in header:
        if header.count(name) > 1:
            msg = f"Line {line}: the column {name} stands there twice. Keep one."
            raise FormatError(msg, line=line, column=name)
        if name not in KNOWN and name.lower().startswith(MEASURED):
            msg = (
                f"Line {line}: the column {name} is not known. Loads stand in mass_kg or"
                " force_N, tolerances in tolerance_kg, readings in reading; convert the unit."
            )
            raise FormatError(msg, line=line, column=name)
    loads = [name for name in LOADS if name in header]
    cells = [name for name in CELLS if name in header]
    if cells and ("reading" in header or cells != list(CELLS[: len(cells)])):
        msg = (
            f"Line {line}: the columns {', '.join(cells)} do not go together; the cells of a"
            " platform are reading_1, reading_2 and so on, without a gap and without reading."
        )
        raise FormatError(msg, line=line, column=cells[-1])
    if len(loads) != 1 or not (cells or "reading" in header):
        msg = (
            f"Line {line} names the columns {', '.join(header)}; it needs reading and one of"
            " mass_kg and force_N, separated by commas."
        )
        raise FormatError(msg, line=line, column=header[0])
    return "mass_kg" if loads[0] == "mass_kg" else "force_N"


def _row(fields: dict[str, str], column: str, line: int) -> Row:
    direction = fields.get("direction", "").lower()
    if direction not in DIRECTIONS:
        msg = f"Line {line}, column direction: {direction!r} is neither up nor down."
        raise FormatError(msg, line=line, column="direction")
    run = fields.get("run", "") or "1"
    if not (run.isascii() and run.isdigit()):
        msg = f"Line {line}, column run: {run!r} is no whole number. Count the walks from 1."
        raise FormatError(msg, line=line, column="run")
    names = tuple(name.strip() for name in fields.get("plates", "").split("+"))
    if any(names) and not all(names):
        msg = f"Line {line}, column plates: a name is missing beside a plus sign."
        raise FormatError(msg, line=line, column="plates")
    tolerance, time = fields.get("tolerance_kg", ""), fields.get("time_s", "")
    cells = [name for name in ("reading", *CELLS) if name in fields]
    load = _number(fields, column, line, least=0.0)
    if column == "mass_kg" and load > MOST_KG:
        msg = (
            f"Line {line}, column mass_kg: {load:g} kg hangs on no punch rig. If the masses are"
            " grams, divide them by 1000."
        )
        raise FormatError(msg, line=line, column=column)
    return Row(
        line=line,
        load=load,
        readings=tuple(_number(fields, name, line) for name in cells),
        step=min(_place(fields[name]) for name in cells),
        tolerance_kg=_number(fields, "tolerance_kg", line, least=0.0) if tolerance else None,
        direction=DIRECTIONS[direction],
        run=int(run),
        plates=names if all(names) else (),
        time_s=_number(fields, "time_s", line) if time else None,
    )


def _number(fields: dict[str, str], column: str, line: int, least: float = -math.inf) -> float:
    text = fields[column]
    value = float(text) if _is_number(text) else math.nan
    if not math.isfinite(value):
        said = repr(text) if text else "an empty field"
        msg = f"Line {line}, column {column}: {said} is no number. Write it like 12.5."
        raise FormatError(msg, line=line, column=column)
    if abs(value) > MOST:
        msg = f"Line {line}, column {column}: {text} is beyond any cell or plate. Correct it."
        raise FormatError(msg, line=line, column=column)
    if value < least:
        msg = f"Line {line}, column {column}: {text} is negative, which no plate can be."
        raise FormatError(msg, line=line, column=column)
    return value


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return "_" not in text


def _place(text: str) -> float:
    # text that `_number` took for a finite number
    exponent = Decimal(text).as_tuple().exponent
    return 10.0 ** min(int(exponent), 0)


def points_table(points: Sequence[TakenPoint], plates: Sequence[PlateRecord]) -> str:
    """Write points as a table.

    Args:
        points: the points, oldest first.
        plates: the plates.

    Returns:
        CSV with a header; a plate of a make is written `make/name`.
    """
    channels = len(points[0].readings) if points else 1
    cells = ["reading"] if channels == 1 else [f"reading_{i + 1}" for i in range(channels)]
    names = {one.name: f"{one.make}/{one.name}" if one.make else one.name for one in plates}
    tolerances = {one.name: one.tolerance_kg for one in plates}
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["mass_kg", *cells, "tolerance_kg", "direction", "run", "plates", "time_s"])
    for point in points:
        on = point.lift.plates
        writer.writerow(
            [
                f"{point.mass_kg:.9g}",
                *(f"{reading:.10g}" for reading in point.readings),
                f"{sum(tolerances[name] for name in on):.9g}",
                DIRECTION_WORDS[point.lift.direction],
                max(point.lift.run, 1),
                "+".join(names[name] for name in on),
                f"{point.time_s:.3f}",
            ]
        )
    return text.getvalue()
