"""Calibration points from a table, and the document that says what they are worth.

The table is CSV (RFC 4180) with a header: `mass_kg` or `force_N`, `reading` (or `reading_1` to
`reading_4` where a platform stands on several cells), and as wanted `tolerance_kg`, `direction`
(up or down), `run`, `plates` (what lies on the cell, as `A+B`), `time_s` (when it was read).
Plates named `make/name` share one make and with it one error; all others stand alone.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

import numpy as np

from strikebridge.calibration.certificate import PlateRecord
from strikebridge.calibration.plates import Source, Steps
from strikebridge.errors import FormatError

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.samples import Floats

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
DIRECTIONS = {"up": 1, "down": -1, "": 0}


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table.

    Attributes:
        line: line number from 1.
        load: mass [kg] or force [N], as the table says.
        readings: reading of each cell.
        step: place value of the readings' last digit.
        tolerance_kg: half-width of what the mass may be off [kg], None where not said.
        direction: 1, -1 or 0.
        run: number of the walk.
        plates: names.
        time_s: when it was read [s], None where not said.
    """

    line: int
    load: float
    readings: tuple[float, ...]
    step: float
    tolerance_kg: float | None
    direction: int
    run: int
    plates: tuple[str, ...]
    time_s: float | None = None


@dataclass(frozen=True, slots=True)
class Points:
    """A table of calibration points.

    Attributes:
        rows: its lines.
        column: which column holds the load.
    """

    rows: tuple[Row, ...]
    column: Literal["mass_kg", "force_N"]

    @property
    def channels(self) -> int:
        """Number of cells."""
        return len(self.rows[0].readings)

    @property
    def readings(self) -> Floats:
        """Reading of each cell, shape (n, channels)."""
        return np.array([row.readings for row in self.rows])

    @property
    def time_s(self) -> Floats | None:
        """When each line was read [s], shape (n,); None where one does not say."""
        times = [row.time_s for row in self.rows if row.time_s is not None]
        return np.array(times) if len(times) == len(self.rows) else None

    @property
    def step(self) -> float:
        """Smallest step of the readings that their text shows."""
        return min(row.step for row in self.rows)

    @property
    def tolerances_kg(self) -> Floats:
        """Tolerance of each line's load [kg], 0 where not said, shape (n,)."""
        return np.array([row.tolerance_kg or 0.0 for row in self.rows])

    @property
    def has_plates(self) -> bool:
        """Say whether any line names its plates."""
        return any(row.plates for row in self.rows)

    def steps(self, gravity_m_per_s2: float) -> Steps:
        """Make steps of a walk.

        Args:
            gravity_m_per_s2: local gravity [m/s2], used where loads are masses.

        Returns:
            The steps; with several cells the readings added up.
        """
        per_load = gravity_m_per_s2 if self.column == "mass_kg" else 1.0
        return Steps(
            load_N=np.array([row.load for row in self.rows]) * per_load,
            reading=self.readings.sum(axis=1),
            direction=np.array([row.direction for row in self.rows], dtype=np.int64),
            run=np.array([row.run for row in self.rows], dtype=np.int64),
            plates=tuple(row.plates for row in self.rows),
            labels=tuple(f"line {row.line}" for row in self.rows),
        )

    def common(self, gravity_m_per_s2: float) -> tuple[Source, ...]:
        """Take the tolerances of loads whose plates are not named as errors common to all.

        How the loads err together is not known then. Two ways count: each by its whole
        tolerance in the same direction, and, where that is another way, all by the share that
        the tolerance of the largest load is of it, which no line through the points can see.

        Args:
            gravity_m_per_s2: local gravity [m/s2].

        Returns:
            Two sources at most, or none.
        """
        if self.has_plates or not self.tolerances_kg.any():
            return ()
        g = gravity_m_per_s2
        loads = np.array([row.load for row in self.rows])
        top = int(np.argmax(np.abs(loads)))
        together = Source("plates", self.tolerances_kg * g)
        in_gain = Source("plates by share", loads * (self.tolerances_kg[top] * g / loads[top]))
        if np.allclose(in_gain.effect_N, together.effect_N, rtol=0.01, atol=1e-6):
            return (together,)
        return together, in_gain

    def plates(self, gravity_m_per_s2: float) -> tuple[PlateRecord, ...]:
        """Work out the single plates from what lay on the cell together.

        Args:
            gravity_m_per_s2: local gravity [m/s2], used where loads are forces.

        Returns:
            The plates in the order of their first use.

        Raises:
            FormatError: the same plates are said to weigh different masses, or a plate weighs
                nothing.
        """
        names = list(dict.fromkeys(name for row in self.rows for name in row.plates))
        if not names:
            return ()
        per_kg = 1.0 if self.column == "mass_kg" else gravity_m_per_s2
        lies = np.array([[row.plates.count(name) for name in names] for row in self.rows])
        masses_kg = np.array([row.load for row in self.rows]) / per_kg
        solved_kg = np.linalg.lstsq(lies, masses_kg, rcond=None)[0]
        off_kg = np.abs(lies @ solved_kg - masses_kg)
        # of lines that contradict one another equally, the last one surprised the coach
        worst = int(np.flatnonzero(off_kg >= 0.999 * np.max(off_kg))[-1])
        if off_kg[worst] > max(1e-3, 0.005 * float(np.max(masses_kg))):
            row = self.rows[worst]
            on = "+".join(row.plates) or "no plate"
            msg = (
                f"Line {row.line}, column plates: {on} cannot weigh {masses_kg[worst]:g} kg"
                " if the other lines are right. Correct the mass or the names."
            )
            raise FormatError(msg, line=row.line, column="plates")
        if np.min(solved_kg) <= 0.0:
            name = names[int(np.argmin(solved_kg))]
            line = next(row.line for row in self.rows if name in row.plates)
            msg = f"Line {line}, column plates: {name} would weigh nothing. Correct its mass."
            raise FormatError(msg, line=line, column="plates")
        tolerances_kg = _plate_tolerances(lies, solved_kg, masses_kg, self.tolerances_kg)
        return tuple(
            PlateRecord(
                name, float(mass), float(tolerance), name.split("/")[0] if "/" in name else ""
            )
            for name, mass, tolerance in zip(names, solved_kg, tolerances_kg, strict=True)
        )


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


def _plate_tolerances(
    lies: Floats, masses_kg: Floats, loads_kg: Floats, tolerances_kg: Floats
) -> Floats:
    solved = np.asarray(np.linalg.lstsq(lies, tolerances_kg, rcond=None)[0], dtype=np.float64)
    is_sum = np.allclose(lies @ solved, tolerances_kg, rtol=1e-6, atol=1e-9)
    if is_sum and (np.all(solved > 1e-12) or not tolerances_kg.any()):
        return np.maximum(solved, 0.0)
    said_kg = np.unique(tolerances_kg[lies.any(axis=1)])
    if len(said_kg) == 1:
        # the same in every line: no sum of plates does that, so each plate is meant
        return np.full(lies.shape[1], said_kg[0])
    # tolerances that do not add up: each plate gets the widest share it was seen with
    shares = tolerances_kg / np.where(loads_kg > 0.0, loads_kg, math.inf)
    widest = np.max(np.where(lies > 0, shares[:, np.newaxis], 0.0), axis=0)
    return np.asarray(widest * masses_kg, dtype=np.float64)
