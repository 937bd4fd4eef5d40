"""A session of a group in a window: lead it, keep it, and look at what was done."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from strikebridge.bookkeeper import Bookkeeper
from strikebridge.group_station import GroupSetup, GroupStation
from strikebridge.looking_back import look_back, with_curves
from strikebridge.safekeeping.contents import RECORDINGS
from strikebridge.screens.app import run_window
from strikebridge.screens.start_app import run_session_review
from strikebridge.store.training import Training

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.opening import Opened
    from strikebridge.screens.app import WindowOptions
    from strikebridge.station import StationSetup
    from strikebridge.store.database import Store


def group_of(opened: Opened, store: Store, cues: tuple[str, ...]) -> GroupSetup:
    """Say what a group is to do; its book is open from here on and has to be closed.

    Args:
        opened: the session.
        store: the database.
        cues: the coach's own list.
    """
    return GroupSetup(
        session=opened.record.id,
        conductor=opened.conductor,
        athletes=opened.athletes,
        book=Bookkeeper(Training(store), opened.record.id),
        rig_setup=opened.rig_setup,
        cues=cues,
        stops=opened.stops,
    )


def lead_in_window(
    opened: Opened,
    store: Store,
    setup: StationSetup,
    options: WindowOptions,
    cues: tuple[str, ...],
) -> int:
    """Show the wall of a session until its window is closed; every rep is kept.

    Args:
        opened: the session.
        store: the database.
        setup: what the station is to do.
        options: how the window opens.
        cues: the coach's own list.

    Returns:
        What `run_window` returns; `REVIEW` where the coach wants to look at what was done.

    Raises:
        ScreenError: no window can be opened here, and why.
        StrikebridgeError: what ended the session early, or could not be written.
    """
    group = group_of(opened, store, cues)
    setup = replace(setup, speaker=options.speaker)
    try:
        return run_window(
            lambda: GroupStation(setup, group), options=replace(options, is_session=True)
        )
    finally:
        group.book.close()


def show_session(store: Store, session: str, data: Path, options: WindowOptions) -> None:
    """Show what was done in a session until its window is closed.

    Args:
        store: the database.
        session: id of the session.
        data: the data folder.
        options: how the window opens.

    Raises:
        ScreenError: no window can be opened here, and why.
        StoreError: there is no such session, or the database cannot be read.
    """
    from strikebridge.cli.kept_reports import keeper_of  # noqa: PLC0415 - no session waits for it

    done = look_back(store, session)
    run_session_review(
        done, lambda: with_curves(done, data / RECORDINGS), keeper_of(data), options
    )
