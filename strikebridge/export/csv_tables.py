"""CSV (RFC 4180) with CSVW metadata beside each file, units in UCUM codes.

Three tables, tied by the number of the rep: `reps.csv`, `measures.csv`, `force.csv`. A
spreadsheet takes a cell that begins with = + - @ or a control character for a formula
(CWE-1236), be it quoted or not. Such free text gets an apostrophe in front; so does text that
begins with one, so that reading takes exactly one off. Numbers are written as numbers.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from strikebridge.errors import FormatError
from strikebridge.export.dataset import (
    Dataset,
    ExportRep,
    ForceTrace,
    RepEvent,
    Written,
    get_file,
    put_file,
)
from strikebridge.samples import MeasureValue, Status

if TYPE_CHECKING:
    from pathlib import Path

RISKY = frozenset("=+-@\t\r\n'\uff1d\uff0b\uff0d\uff20")
"""First letters that a spreadsheet may take for a formula (OWASP), full-width ones as well, and
the apostrophe that guards against it."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Attributes:
        name: as in the head.
        datatype: of CSVW.
        title: what it is, in words.
        unit: UCUM code, empty where it has none.
    """

    name: str
    datatype: str
    title: str
    unit: str = ""


REPS = (
    Column("rep", "integer", "number of the rep in this export"),
    Column("athlete", "string", "name, alias or pseudonym"),
    Column("session", "string", "session"),
    Column("at", "dateTimeStamp", "when the rep was over"),
    Column("exercise", "string", "exercise"),
    Column("hand", "string", "left or right"),
    Column("setup", "string", "set-up of wall and fist"),
    Column("set_number", "integer", "set"),
    Column("turn", "integer", "place in the session"),
    Column("cue", "string", "cue given before it"),
    Column("note", "string", "note"),
    Column("rise", "string", "word on the rise"),
    Column("hold", "string", "word on the hold"),
    Column("rate_hz", "double", "sampling rate of the force", "Hz"),
    Column("events", "string", "events of the force, label=seconds, one after the other"),
    Column("effort", "string", "maximal or submaximal"),
    Column("hold_s", "double", "seconds prescribed, empty where none were", "s"),
    Column("way", "string", "measured, typed or timed"),
    Column("faults", "string", "words of the verdict, one after the other"),
)
MEASURES = (
    Column("rep", "integer", "number of the rep"),
    Column("name", "string", "measure"),
    Column("value", "double", "value, empty where withheld; see unit"),
    Column("unit", "string", "UCUM code of value, u_own and u_common"),
    Column("u_own", "double", "standard uncertainty, independent from rep to rep"),
    Column("u_common", "double", "standard uncertainty shared by one certificate"),
    Column("certificate", "string", "calibration certificate"),
    Column("dof", "double", "effective degrees of freedom", "1"),
    Column("coverage", "double", "coverage factor for 95 %", "1"),
    Column("status", "string", "ok, coarse or withheld"),
    Column("reason", "string", "why coarse or withheld"),
    Column("version", "integer", "version of the definition"),
)
FORCE = (
    Column("rep", "integer", "number of the rep"),
    Column("time_s", "double", "time of the reading", "s"),
    Column("force_N", "double", "force above the tracked zero", "N"),
)
BETWEEN = ";"  # of words in one cell
Rows = Iterable[tuple[str, ...]]


class CsvTables:
    """Writer and reader of the three tables."""

    def write(self, dataset: Dataset, folder: Path) -> Written:
        """Write the tables and their metadata.

        Args:
            dataset: the reps.
            folder: where.

        Returns:
            The files.

        Raises:
            FormatError: when one cannot be written.
        """
        tables: dict[str, tuple[tuple[Column, ...], Rows]] = {
            "reps.csv": (REPS, (_rep_row(rep) for rep in dataset.reps)),
            "measures.csv": (
                MEASURES,
                (_measure_row(rep.rep, one) for rep in dataset.reps for one in rep.measures),
            ),
            "force.csv": (FORCE, _force_rows(dataset)),
        }
        files = []
        for name, (columns, rows) in tables.items():
            for path, content in (
                (folder / name, _csv(columns, rows)),
                (folder / f"{name}-metadata.json", _metadata(name, columns)),
            ):
                put_file(path, content.encode())
                files.append(path)
        return Written(tuple(files))

    def read(self, folder: Path) -> Dataset:
        """Read the tables.

        Args:
            folder: where they lie.

        Returns:
            The reps.

        Raises:
            FormatError: when a table is missing or a cell is not as it was written; it names
                the line.
        """
        measures: dict[int, list[MeasureValue]] = {}
        forces: dict[int, list[tuple[float, float]]] = {}

        def take_measure(cells: dict[str, str]) -> None:
            measures.setdefault(int(cells["rep"]), []).append(_measure_of(cells))

        def take_force(cells: dict[str, str]) -> None:
            point = float(cells["time_s"]), float(cells["force_N"])
            forces.setdefault(int(cells["rep"]), []).append(point)

        reps: list[ExportRep] = []

        def take_rep(cells: dict[str, str]) -> None:
            number = int(cells["rep"])
            reps.append(_rep_of(cells, tuple(measures.get(number, [])), forces.get(number, [])))

        _read(folder / "measures.csv", MEASURES, take_measure)
        _read(folder / "force.csv", FORCE, take_force)
        _read(folder / "reps.csv", REPS, take_rep)
        return Dataset(tuple(reps))


def guarded(text: str) -> str:
    """Make free text safe in a spreadsheet.

    Args:
        text: any text.

    Returns:
        The text, with an apostrophe in front where it could be taken for a formula.
    """
    return f"'{text}" if text[:1] in RISKY and text else text


def unguarded(text: str) -> str:
    """Take the apostrophe of `guarded` off again.

    Args:
        text: a cell.
    """
    return text.removeprefix("'")


def _number(value: float | None) -> str:
    if value is None:
        return ""
    return "INF" if math.isinf(value) else repr(value)  # INF as in XML Schema, for CSVW


def _rep_row(rep: ExportRep) -> tuple[str, ...]:
    events = (
        ""
        if rep.force is None
        else BETWEEN.join(f"{event.label}={event.time_s!r}" for event in rep.force.events)
    )
    words = (rep.exercise, rep.hand, rep.setup)
    return (
        str(rep.rep),
        guarded(rep.athlete),
        guarded(rep.session),
        rep.at.isoformat(),
        *(guarded(word) for word in words),
        str(rep.set_number),
        str(rep.turn),
        *(guarded(word) for word in (rep.cue, rep.note, rep.rise, rep.hold)),
        _number(None if rep.force is None else rep.force.rate_hz),
        guarded(events),
        guarded(rep.effort),
        _number(rep.hold_s),
        guarded(rep.way),
        guarded(BETWEEN.join(rep.faults)),
    )


def _measure_row(rep: int, one: MeasureValue) -> tuple[str, ...]:
    return (
        str(rep),
        guarded(one.name),
        _number(one.value),
        guarded(one.unit),
        _number(one.u_own),
        _number(one.u_common),
        guarded(one.certificate or ""),
        _number(one.dof),
        _number(one.coverage),
        one.status.value,
        guarded(one.reason),
        str(one.version),
    )


def _force_rows(dataset: Dataset) -> Rows:
    for rep in dataset.reps:
        if rep.force is not None:
            for time_s, force_N in zip(rep.force.time_s, rep.force.force_N, strict=True):
                yield str(rep.rep), repr(time_s), repr(force_N)


def _csv(columns: tuple[Column, ...], rows: Rows) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([column.name for column in columns])
    writer.writerows(rows)
    return text.getvalue()


def _metadata(name: str, columns: tuple[Column, ...]) -> str:
    """Describe a table (W3C, Metadata Vocabulary for Tabular Data, 2015)."""
    return json.dumps(
        {
            "@context": "http://www.w3.org/ns/csvw",
            "url": name,
            "dialect": {"encoding": "utf-8", "header": True, "lineTerminators": ["\r\n"]},
            "tableSchema": {
                "columns": [
                    {
                        "name": column.name,
                        "titles": column.name,
                        "dc:description": column.title,
                        "datatype": column.datatype,
                        **(
                            {"http://qudt.org/schema/qudt/ucumCode": column.unit}
                            if column.unit
                            else {}
                        ),
                    }
                    for column in columns
                ]
            },
        },
        indent=1,
    )


def _read(
    path: Path, columns: tuple[Column, ...], take: Callable[[dict[str, str]], None]
) -> None:
    names = [column.name for column in columns]
    try:
        text = get_file(path).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FormatError(f"{path} is not written in UTF-8.") from error
    lines = csv.reader(io.StringIO(text, newline=""))
    if next(lines, None) != names:
        raise FormatError(f"{path} does not have the columns {', '.join(names)}.", line=1)
    for cells in lines:
        try:
            take(dict(zip(names, map(unguarded, cells), strict=True)))
        except ValueError as error:
            raise FormatError(
                f"{path} is not as it was written: {error}.", line=lines.line_num
            ) from error


def _optional(text: str) -> float | None:
    return float(text) if text else None


def _measure_of(cells: dict[str, str]) -> MeasureValue:
    return MeasureValue(
        name=cells["name"],
        value=_optional(cells["value"]),
        unit=cells["unit"],
        u_own=_optional(cells["u_own"]),
        u_common=_optional(cells["u_common"]),
        certificate=cells["certificate"] or None,
        dof=float(cells["dof"]),
        coverage=float(cells["coverage"]),
        status=Status(cells["status"]),
        reason=cells["reason"],
        version=int(cells["version"]),
    )


def _rep_of(
    cells: dict[str, str],
    measures: tuple[MeasureValue, ...],
    points: list[tuple[float, float]],
) -> ExportRep:
    force = None
    if cells["rate_hz"]:
        events = [part.rpartition("=") for part in cells["events"].split(BETWEEN) if part]
        force = ForceTrace(
            time_s=tuple(time_s for time_s, _ in points),
            force_N=tuple(force_N for _, force_N in points),
            rate_hz=float(cells["rate_hz"]),
            events=tuple(RepEvent(label, float(time_s)) for label, _, time_s in events),
        )
    return ExportRep(
        rep=int(cells["rep"]),
        athlete=cells["athlete"],
        session=cells["session"],
        at=datetime.fromisoformat(cells["at"]),
        exercise=cells["exercise"],
        hand=cells["hand"],
        setup=cells["setup"],
        set_number=int(cells["set_number"]),
        turn=int(cells["turn"]),
        cue=cells["cue"],
        note=cells["note"],
        rise=cells["rise"],
        hold=cells["hold"],
        measures=measures,
        force=force,
        effort=cells["effort"],
        hold_s=_optional(cells["hold_s"]),
        way=cells["way"],
        faults=tuple(cells["faults"].split(BETWEEN)) if cells["faults"] else (),
    )
