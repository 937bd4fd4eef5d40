"""A club of any size over any number of years, straight into the tables.

Two sessions a week for each group of twenty, four athletes of five come; each session has three
reps of each hand in one punch. Every rep has all the measures that a board of 80 readings a
second gives, those withheld with their reasons, so that the tables have their real size. Levels
drift, days and reps vary, set-ups change once, calibrations each year.
"""

from __future__ import annotations

import contextlib
import hashlib
import itertools
import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from sqlalchemy import insert

from strikebridge.club.athlete import AgeGroup, Athlete, BodyMass, Side, Stance, hand_of
from strikebridge.club.rig_setup import Cover, Feet, Fist, Pad, RigSetup
from strikebridge.measures.run import MEASURES
from strikebridge.store.database import FILE, open_store
from strikebridge.store.models import (
    Base,
    RepRow,
    RigSetupRow,
    SessionAthleteRow,
    SessionRow,
)
from strikebridge.store.roster import Roster

if TYPE_CHECKING:
    from pathlib import Path

FIRST = (
    "Ines",
    "Tobias",
    "Ayla",
    "Kwame",
    "Mirko",
    "Juno",
    "Perran",
    "Wenna",
    "Jory",
    "Tamsin",
)
LAST = ("Halloran", "Merrow", "Sandfort", "Oduya-Brandt", "Tallis", "Pettigrew", "Quill")
GROUP = 20
COMES = 0.8
REPS = 3
PUNCHES = ("straight", "straight", "straight", "hook", "uppercut")
LEVEL_N, LEVEL_SD = 900.0, 0.2
DAY, REP = 0.04, 0.03
A_YEAR = 0.03  # gain
LEAD_SHARE = 0.85  # of the rear
CUED = 0.1
SETUPS = (
    RigSetup(1.4, 0.55, Pad.BALL, Cover.WRAP, Fist.FIST, 180.0, Feet.SIDE_ON),
    RigSetup(1.45, 0.6, Pad.BALL, Cover.GLOVE, Fist.FIST, 180.0, Feet.SIDE_ON),
)
ADD_MEASURES = """
INSERT INTO measure (rep_id, name, place, version, unit, dof, coverage, status, reason,
                     value, u_own, u_common, certificate)
SELECT of_rep.rep_id, name, place, version, unit, dof, coverage, status, reason,
       CASE WHEN is_withheld THEN NULL ELSE peak_N END,
       CASE WHEN is_withheld THEN NULL ELSE u_own END,
       CASE WHEN is_withheld THEN NULL ELSE u_common END,
       certificate
FROM of_rep CROSS JOIN of_measure"""
"""Twenty million rows: SQLite makes them itself, in the order in which they are kept."""
CACHE_KIB = 400_000  # room for the indexes that a new rep goes into
END = datetime(2026, 3, 6, 18, 0, tzinfo=UTC)
WITHHELD = {
    "rfd_50": "5 readings and 2 settling times do not fit into 50 ms",
    "peak_rfd": "500 readings a second are needed",
    "let_go_time": "below what the board can tell",
}
U_OWN_N, U_COMMON_SHARE = 2.5, 0.005
# by name, as the table of measures is kept: each new row goes to its end
FIXED = sorted(
    (
        name,
        place,
        definition.version,
        definition.unit,
        40.0,
        2.02,
        "withheld" if name in WITHHELD else "ok",
        WITHHELD.get(name, ""),
        name in WITHHELD,
    )
    for place, (name, definition) in enumerate(MEASURES.items(), start=1)
)


@dataclass(frozen=True)
class Made:
    """What was made."""

    athletes: tuple[Athlete, ...]
    sessions: int
    reps: int


def make_club(data: Path, athletes: int, weeks: int, seed: int = 7) -> Made:
    """Fill a new database.

    Args:
        data: the data folder.
        athletes: how many.
        weeks: how many, up to `END`.
        seed: the same gives the same club.
    """
    rng = np.random.default_rng(seed)
    people = tuple(_athlete(number) for number in range(athletes))
    levels = LEVEL_N * np.exp(rng.normal(0.0, LEVEL_SD, athletes))
    sessions = reps = 0
    with contextlib.closing(open_store(data)) as store:
        Roster(store, END.date).add_all(people)
        with store.writing() as at:
            at.connection().execute(insert(RigSetupRow), [_setup_row(one) for one in SETUPS])
    with contextlib.closing(sqlite3.connect(data / FILE)) as at:
        _set_up(at)
        for week in range(weeks):
            rows = _Rows(rng, week, weeks, reps)
            for day, first in itertools.product((0, 3), range(0, athletes, GROUP)):
                sessions += 1
                who = [
                    (people[i], float(levels[i]))
                    for i in range(first, min(first + GROUP, athletes))
                    if rng.random() < COMES
                ]
                begun = END - timedelta(weeks=weeks - week) + timedelta(days=day)
                rows.session(sessions, begun, who)
            rows.write(at)
            reps = rows.reps
        at.commit()
    return Made(people, sessions, reps)


def _set_up(at: sqlite3.Connection) -> None:
    """Write without a log and in one transaction: half a club is thrown away anyhow."""
    for pragma in ("journal_mode=OFF", "synchronous=OFF", f"cache_size=-{CACHE_KIB}"):
        at.execute(f"PRAGMA {pragma}")
    at.execute(
        "CREATE TEMP TABLE of_rep (rep_id INTEGER PRIMARY KEY, peak_N, u_common, u_own, "
        "certificate)"
    )
    at.execute(
        "CREATE TEMP TABLE of_measure (name PRIMARY KEY, place, version, unit, dof, coverage, "
        "status, reason, is_withheld) WITHOUT ROWID"
    )
    at.executemany("INSERT INTO of_measure VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", FIXED)


def _add(at: sqlite3.Connection, table: type[Base], rows: list[dict[str, object]]) -> None:
    """Put rows into a table, past everything that SQLAlchemy does for each."""
    names = list(rows[0]) if rows else []
    places = ", ".join(f":{name}" for name in names)
    sql = f"INSERT INTO {table.__tablename__} ({', '.join(names)}) VALUES ({places})"
    at.executemany(sql if rows else "SELECT 1", rows)


def _plan(week: int, begun: datetime) -> str:
    """Give a camp of eight weeks its phases; a bout ends it."""
    if week % 8 == 7:
        return "fight-day" if begun.weekday() == END.weekday() else "taper-day"
    return "taper-day" if week % 8 == 6 else "test-day" if week % 8 == 0 else "speed-day"


def _athlete(number: int) -> Athlete:
    name = f"{FIRST[number % len(FIRST)]} {LAST[number % len(LAST)]}"
    if number >= len(FIRST) * len(LAST):
        name = f"{name} {number // (len(FIRST) * len(LAST)) + 1}"
    stance = Stance.SOUTHPAW if number % 5 == 0 else Stance.ORTHODOX
    mass = BodyMass((END - timedelta(days=20)).date(), 55.0 + number % 40)
    key = hashlib.sha256(str(number).encode()).hexdigest()[:32]
    return Athlete(key, name, stance, AgeGroup.ADULT, masses=(mass,), groups=("Seniors",))


def _setup_row(setup: RigSetup) -> dict[str, object]:
    return {
        "key": setup.key,
        **{name: getattr(setup, name) for name in ("pad_height_m", "distance_m", "elbow_deg")},
        **{name: str(getattr(setup, name)) for name in ("pad", "cover", "fist", "feet")},
    }


class _Rows:
    """The rows of a week."""

    def __init__(self, rng: np.random.Generator, week: int, weeks: int, reps: int) -> None:
        self.reps = reps
        self._tables: dict[type[Base], list[dict[str, object]]] = {
            one: [] for one in (SessionRow, SessionAthleteRow, RepRow)
        }
        self._peaks: list[tuple[int, float, float]] = []
        self._rng = rng
        self._week = week
        self._same = {
            "attempt": 1,
            "setup_key": SETUPS[0 if week < weeks // 3 else 1].key,
            "set_number": 1,
            "effort": "maximal",
            "hold_s": 3.0,
            "band_low_N": None,
            "band_high_N": None,
            "way": "measured",
            "is_kept": True,
            "rise": "snap",
            "hold": "steady",
            "faults": "",
            "sentence": "Held stiff to the end.",
            "detail": "Most of the peak was there within 0.2 s; it swung by 1.2 %.",
            "certificate": f"certificate-{week // 52}",
        }

    def write(self, at: sqlite3.Connection) -> None:
        """Put them into the tables."""
        for table, rows in self._tables.items():
            _add(at, table, rows)
        at.execute("DELETE FROM of_rep")
        at.executemany(
            f"INSERT INTO of_rep VALUES (?, ?, ?, {U_OWN_N}, 'certificate-{self._week // 52}')",
            self._peaks,
        )
        at.execute(ADD_MEASURES)

    def session(self, number: int, begun: datetime, who: list[tuple[Athlete, float]]) -> None:
        """Make a session of everybody who came."""
        key = f"{number:032x}"
        punch = PUNCHES[number % len(PUNCHES)]
        self._tables[SessionRow].append(
            {
                "id": key,
                "plan": _plan(self._week, begun),
                "plan_text": 'name = "speed-day"\n',
                "turns": len(who) * 2 * REPS,
                "started_at": _moment(begun),
                "ended_at": _moment(begun + timedelta(hours=1)),
                "utc_offset_s": 0,
                "training_group": "Seniors",
                "wall": "",
            }
        )
        turns = itertools.count(1)
        recording = f"session-{begun:%Y-%m-%d-%H%M%S}.jsonl"
        for place, (athlete, level_N) in enumerate(who, start=1):
            self._tables[SessionAthleteRow].append(
                {"session_id": key, "place": place, "athlete_id": athlete.id}
            )
            day = DAY * self._rng.normal()
            today_N = level_N * (1.0 + A_YEAR * self._week / 52.0 + day)
            for side in Side:
                mine = {
                    **self._same,
                    "session_id": key,
                    "recording": recording,
                    "athlete_id": athlete.id,
                    "exercise": f"{side.value}-{punch}",
                    "hand": hand_of(side, athlete.stance).value,
                    "stance": athlete.stance.value,
                }
                factor = 1.0 if side is Side.REAR else LEAD_SHARE
                for rep in range(1, REPS + 1):
                    self.reps += 1
                    row = {**mine, "id": self.reps, "rep_number": rep}
                    row |= self._rep(next(turns), begun)
                    peak_N = today_N * factor * (1.0 + REP * self._rng.normal())
                    self._tables[RepRow].append({**row, "peak_N": peak_N})
                    self._peaks.append((self.reps, peak_N, U_COMMON_SHARE * peak_N))

    def _rep(self, turn: int, begun: datetime) -> dict[str, object]:
        return {
            "cue": "hip first" if self._rng.random() < CUED else "",
            "turn": turn,
            "start_s": 20.0 * turn - 5.0,
            "end_s": 20.0 * turn,
            "go_s": 20.0 * turn - 4.0,
            "ended_at": _moment(begun + timedelta(seconds=20.0 * turn)),
        }


def _moment(at: datetime) -> str:
    """Write a moment as SQLAlchemy does it for SQLite."""
    return f"{at:%Y-%m-%d %H:%M:%S.%f}"
