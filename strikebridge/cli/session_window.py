"""A session of a group in a window: lead it, keep it, and look at what was done."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from strikebridge.bookkeeper import Bookkeeper
from strikebridge.group_station import GroupSetup, GroupStation
from strikebridge.screens.app import run_window
from strikebridge.store.training import Training

if TYPE_CHECKING:
    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.opening import Opened
    from strikebridge.screens.app import WindowOptions
    from strikebridge.station import StationSetup
    from strikebridge.store.database import Store


def lead_in_window(
    opened: Opened,
    store: Store,
    setup: StationSetup,
    rig_setup: RigSetup,
    options: WindowOptions,
    cues: tuple[str, ...],
) -> int:
    """Show the wall of a session until its window is closed; every rep is kept.

    Args:
        opened: the session.
        store: the database.
        setup: what the station is to do.
        rig_setup: how wall and fist are set up.
        options: how the window opens.
        cues: the coach's own list.

    Returns:
        What `run_window` returns; `REVIEW` where the coach wants to look at what was done.

    Raises:
        ScreenError: no window can be opened here, and why.
        StrikebridgeError: what ended the session early, or could not be written.
    """
    book = Bookkeeper(Training(store), opened.record.id)
    group = GroupSetup(
        session=opened.record.id,
        conductor=opened.conductor,
        athletes=opened.athletes,
        book=book,
        rig_setup=rig_setup,
        cues=cues,
    )
    setup = replace(setup, speaker=options.speaker)
    try:
        return run_window(
            lambda: GroupStation(setup, group), options=replace(options, is_session=True)
        )
    finally:
        book.close()
