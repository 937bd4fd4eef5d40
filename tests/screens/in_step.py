"""A simulated board that waits for whoever looks at the wall: no scene goes by unseen."""

from __future__ import annotations

import contextlib
import time
from typing import TYPE_CHECKING
from unittest import mock

from strikebridge.station import Station

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

LONGEST_S = 3.0  # no window is there yet, or none any more
LOOK_S = 0.002


@contextlib.contextmanager
def in_step(looks: Callable[[], int]) -> Iterator[None]:
    """Let each glance of a wall be looked at before the board goes on.

    A computer that is busy then takes longer, and sees the same. For simulated boards only: one
    that is not stops for nobody.

    Args:
        looks: how often somebody has looked at the window so far.
    """
    show = Station._publish

    def show_and_wait(station: Station) -> None:
        show(station)
        ends_s = time.monotonic() + LONGEST_S

        def wait_until(is_so: Callable[[], bool]) -> None:
            while not is_so() and time.monotonic() < ends_s:
                if station._stopping.wait(LOOK_S):
                    return

        wait_until(lambda: not station._is_woken)  # the window has taken it
        before = looks()
        wait_until(lambda: looks() > before)

    with mock.patch.object(Station, "_publish", show_and_wait):
        yield
