"""From every earlier shape of the tables to today's, with all that stood in them.

`schemas/` holds a dump of each version, written when it was the newest.
"""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateIndex, CreateTable

from strikebridge.club.exercise import Exercise, Way
from strikebridge.club.training import ClosedTurn, Closing, CueRecord
from strikebridge.errors import StoreError
from strikebridge.store.database import FILE, Store, open_store
from strikebridge.store.exercises import OwnExercises
from strikebridge.store.migrations import STEPS, newest, upgrade
from strikebridge.store.models import Base
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from tests.store.made import DAY, INES, JUNO, START, rep, session
from tests.store.shape import load_dump, shape_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

SCHEMAS = Path(__file__).parent / "schemas"
DUMPS = sorted(SCHEMAS.glob("*.sql"), key=lambda path: int(path.stem))
OWN = Exercise("towel-hold", "towel hold", Way.TIMED)
CLOSED = ClosedTurn(session().id, 3, JUNO.id, "lead-hook", Closing.PAIN, START)
CUE = CueRecord(session().id, INES.id, START, "hip first", 1)


def fill(store: Store) -> None:
    """Put one of everything into a database."""
    Roster(store, lambda: DAY).add_all([INES, JUNO])
    OwnExercises(store).put(OWN)
    training = Training(store, lambda: DAY)
    training.begin(session())
    for turn, peak_N in ((1, 800.0), (2, None)):
        training.save(rep(turn, peak_N))
    training.take_back(session().id, 2)
    training.close_turn(CLOSED)
    training.note_cue(CUE)


def check(store: Store) -> None:
    """See that one of everything came through."""
    assert Roster(store).all() == (INES, JUNO)
    assert Roster(store).groups() == {"Seniors": 1}
    assert OwnExercises(store).all() == (OWN,)
    history = History(store)
    assert history.sessions() == (session(),)
    assert history.cues(session().id) == (CUE,)
    kept, taken_back = history.reps(session().id)
    assert kept == rep(1)
    assert (taken_back.is_kept, taken_back.measures) == (False, rep(2, None).measures)
    point = Training(store).resume_point(session().id)
    assert point.done == frozenset({1})
    assert dict(point.closed) == {3: Closing.PAIN}


def test_there_is_a_dump_of_every_version() -> None:
    assert [int(path.stem) for path in DUMPS] == list(range(1, newest() + 1))


@pytest.mark.parametrize("dump", DUMPS, ids=lambda path: path.stem)
def test_every_version_comes_to_the_shape_of_today(dump: Path, tmp_path: Path) -> None:
    load_dump(dump, tmp_path / "old" / FILE)
    for folder in ("old", "new"):
        open_store(tmp_path / folder).close()
    # the dump of the newest version is compared as well: changed tables need a step
    assert shape_of(tmp_path / "old" / FILE) == shape_of(tmp_path / "new" / FILE)


@pytest.mark.parametrize("dump", DUMPS, ids=lambda path: path.stem)
def test_every_version_keeps_all_that_stood_in_it(dump: Path, data: Path) -> None:
    load_dump(dump, data / FILE)
    for _ in range(2):  # once through the steps, once as it is then
        with contextlib.closing(open_store(data)) as store:
            check(store)


def test_a_new_database_holds_all_of_it_as_well(store: Store) -> None:
    fill(store)
    check(store)


@pytest.mark.parametrize(
    "change",
    [
        "ALTER TABLE rep ADD COLUMN mood TEXT",
        "ALTER TABLE athlete DROP COLUMN note",
        "ALTER TABLE cue RENAME TO hint",
        "DROP INDEX one_kept_a_turn",
        "DROP INDEX alike",
        "CREATE TABLE more (id INTEGER)",
    ],
)
def test_the_comparison_finds_a_changed_table(change: str, tmp_path: Path) -> None:
    for folder in ("one", "other"):
        open_store(tmp_path / folder).close()
    assert shape_of(tmp_path / "one" / FILE) == shape_of(tmp_path / "other" / FILE)
    with contextlib.closing(sqlite3.connect(tmp_path / "other" / FILE)) as at:
        at.execute(change)
    assert shape_of(tmp_path / "one" / FILE) != shape_of(tmp_path / "other" / FILE)


def test_the_tables_can_be_made_on_a_server() -> None:
    # the SQL of PostgreSQL as SQLAlchemy writes it; no server is asked
    server = postgresql.dialect()  # type: ignore[no-untyped-call] # SQLAlchemy leaves it so
    made = []
    for table in Base.metadata.sorted_tables:
        made.append(str(CreateTable(table).compile(dialect=server)))
        made += [str(CreateIndex(one).compile(dialect=server)) for one in table.indexes]
    kept = "CREATE UNIQUE INDEX one_kept_a_turn ON rep (session_id, turn) WHERE is_kept"
    assert kept in made
    assert any("CREATE TABLE athlete" in one for one in made)
    assert not any("ROWID" in one for one in made)


def add_mood(connection: Connection) -> None:
    connection.execute(text("ALTER TABLE rep ADD COLUMN mood TEXT"))


def stumble(connection: Connection) -> None:
    connection.execute(text("ALTER TABLE rep ADD COLUMN mood TEXT"))
    connection.execute(text("ALTER TABLE no_such_table ADD COLUMN mood TEXT"))


def has_mood(data: Path) -> bool:
    return "mood" in {row[0] for row in shape_of(data / FILE)["rep"]["columns"]}


def version(data: Path) -> list[tuple[int]]:
    with contextlib.closing(sqlite3.connect(data / FILE)) as at:
        found: list[tuple[int]] = at.execute("SELECT version FROM schema_version").fetchall()
        return found


def test_steps_are_taken_once_and_in_order(store: Store, data: Path) -> None:
    fill(store)
    with store.writing() as at:
        assert upgrade(at.connection(), (*STEPS, add_mood)) == newest()
    assert has_mood(data)
    assert version(data) == [(newest() + 1,)]
    with store.writing() as at:
        assert upgrade(at.connection(), (*STEPS, add_mood)) == newest() + 1
    check(store)


def test_a_step_that_fails_leaves_the_old_shape(store: Store, data: Path) -> None:
    fill(store)
    with pytest.raises(StoreError, match="nothing was changed"), store.writing() as at:
        upgrade(at.connection(), (*STEPS, stumble))
    assert not has_mood(data)
    assert version(data) == [(newest(),)]
    check(store)


def test_a_newer_database_is_refused_in_words_and_left_alone(data: Path) -> None:
    with contextlib.closing(open_store(data)) as store:
        fill(store)
        with store.writing() as at:
            upgrade(at.connection(), (*STEPS, add_mood))
    before = shape_of(data / FILE)
    words = "made by a newer strikebridge .*Nothing was changed.* Install the newer"
    with pytest.raises(StoreError, match=words):
        open_store(data)
    assert shape_of(data / FILE) == before
    assert version(data) == [(newest() + 1,)]
