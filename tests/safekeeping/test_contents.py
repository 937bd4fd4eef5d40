"""Whatever the program writes into the data folder is in the table of what is kept."""

from __future__ import annotations

from strikebridge import plan_shelf
from strikebridge.boards import remembered
from strikebridge.calibration import shelf
from strikebridge.checks import history
from strikebridge.cli import starting
from strikebridge.pages import caution
from strikebridge.safekeeping.contents import CONTENTS, ERASURES, RECORDINGS, REPORTS
from strikebridge.safekeeping.erasing import NEXT_SESSION
from strikebridge.screens import turned
from strikebridge.store import database

WRITTEN = (
    plan_shelf.FOLDER,
    plan_shelf.CHOICE_FILE,
    remembered.FILE,
    shelf.FOLDER,
    history.FOLDER,
    starting.PLATES,
    caution.FILE,
    turned.FILE,
    database.FILE,
)


def test_every_room_s_files_are_kept() -> None:
    assert set(WRITTEN) <= set(CONTENTS)
    assert set(CONTENTS) - set(WRITTEN) == {RECORDINGS, REPORTS, ERASURES, "points"}
    assert all(what and what[0].islower() for what in CONTENTS.values())


def test_what_erasing_looks_into_is_what_the_rooms_write() -> None:
    assert NEXT_SESSION == plan_shelf.CHOICE_FILE
