"""The start page's row of the backup: when the last one was made, and a new one beside it."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from strikebridge.safekeeping.backup import make_backup
from strikebridge.safekeeping.contents import present
from strikebridge.safekeeping.outside import last_backup
from strikebridge.screens.start_model import Lead, Row, Standing

if TYPE_CHECKING:
    from strikebridge.safekeeping.job import Tell

OLD_AFTER = timedelta(days=7)
"""A backup is made after each session; after a week it is asked for. Our own limit."""
NAME = "Backup"
FIRST = "None yet. Make the first one in a terminal, on a stick: strikebridge backup FOLDER."


def backup_row(data: Path, now: datetime) -> Row:
    """Say when the last backup was made, and whether its place is there for another.

    Args:
        data: the data folder.
        now: the time, with its zone.

    Raises:
        SafekeepingError: the list of backups cannot be read.
    """
    last = last_backup(data)
    if last is None:
        words = FIRST if present(data) else "There is nothing to keep yet."
        return Row(NAME, Standing.LATER, words)
    age, place = now - datetime.fromisoformat(last.at), Path(last.path).parent
    is_fresh = age <= OLD_AFTER
    days = "today" if age.days < 1 else "a day ago" if age.days == 1 else f"{age.days} days ago"
    words = f"The last one was made {days}, in {place}."
    if not place.is_dir():
        return Row(NAME, Standing.LATER, f"{words} That place is not there now.")
    return Row(NAME, Standing.READY if is_fresh else Standing.LATER, words, Lead.BACKUP)


def back_up_again(data: Path, tell: Tell | None = None) -> str:
    """Make another backup beside the last one, named by the moment.

    Args:
        data: the data folder.
        tell: told how far it has come.

    Returns:
        What to say of it.

    Raises:
        SafekeepingError: there is no last one, or it cannot be made.
        StoreError: the database cannot be read.
    """
    last = last_backup(data)
    if last is None:
        return FIRST
    made = make_backup(data, Path(last.path).parent, tell)
    return f"{made.path} was made, read back and found right."
