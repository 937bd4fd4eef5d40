"""From every earlier shape of the tables to this one.

A new, empty database gets today's tables at once; an older one goes through the steps behind
its version, all in one transaction: after a crash it is the old one still. A step holds its SQL
in full and names no model, for the models go on changing. Going back is never tried.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import inspect, text

from strikebridge.errors import StoreError
from strikebridge.store.models import Base

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from sqlalchemy import Connection

    Step = Callable[[Connection], None]


def _find_reps_by_day(connection: Connection) -> None:
    """Let reps be found by exercise and day, and by athlete and day."""
    connection.execute(text("CREATE INDEX of_everybody ON rep (exercise, ended_at)"))
    connection.execute(text("CREATE INDEX of_one ON rep (athlete_id, ended_at)"))


def _find_the_best_rep(connection: Connection) -> None:
    """Keep the peak force beside each rep, where an index can lead to the largest."""
    connection.execute(text('ALTER TABLE rep ADD COLUMN "peak_N" FLOAT'))
    connection.execute(
        text(
            'UPDATE rep SET "peak_N" = (SELECT value FROM measure '
            "WHERE rep_id = rep.id AND name = 'peak_force')"
        )
    )
    connection.execute(
        text(
            "CREATE INDEX best ON rep "
            '(athlete_id, exercise, hand, setup_key, effort, "peak_N") '
            'WHERE "peak_N" IS NOT NULL'
        )
    )


STEPS: tuple[Step, ...] = (_find_reps_by_day, _find_the_best_rep)
"""The step at place n leads from version n + 1 to n + 2."""


def newest(steps: Sequence[Step] = STEPS) -> int:
    """Give the version of the tables that the steps lead to.

    Args:
        steps: the steps, oldest first.
    """
    return len(steps) + 1


def version_of(connection: Connection) -> int:
    """Read which version of the tables is there.

    Args:
        connection: to the database.

    Returns:
        The version, 0 for a database without any table.

    Raises:
        StoreError: there are tables, but not ours.
    """
    names = inspect(connection).get_table_names()
    if not names:
        return 0
    if "schema_version" in names:
        found = connection.execute(text("SELECT version FROM schema_version")).scalar()
        if isinstance(found, int):
            return found
    raise StoreError(
        "The database holds tables of another program. Nothing was changed. Choose another "
        "data folder with --data."
    )


def upgrade(connection: Connection, steps: Sequence[Step] = STEPS) -> int:
    """Bring the tables to the newest version, in the transaction that is open.

    Args:
        connection: to the database.
        steps: the steps, oldest first.

    Returns:
        The version that was there before, 0 for a new database.

    Raises:
        StoreError: the tables are newer than this program, or not ours.
    """
    before = version_of(connection)
    if before > newest(steps):
        raise StoreError(
            f"The database was made by a newer strikebridge (its tables are version {before}, "
            f"this program knows up to {newest(steps)}). Nothing was changed. Install the "
            "newer strikebridge and try again."
        )
    if before == 0:
        Base.metadata.create_all(connection)
        _stamp(connection, newest(steps))
    elif before < newest(steps):
        for step in steps[before - 1 :]:
            step(connection)
        _stamp(connection, newest(steps))
    return before


def _stamp(connection: Connection, version: int) -> None:
    connection.execute(text("DELETE FROM schema_version"))
    connection.execute(
        text("INSERT INTO schema_version (version) VALUES (:version)"), {"version": version}
    )
