"""A station that runs for as long as a test looks at it."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterator

    from strikebridge.acquisition import Acquisition

WITHIN_S = 50.0
"""Longest wait for what comes within a second on a computer that does nothing else."""

WITHIN_MS = round(1000 * WITHIN_S)

AnyStation = TypeVar("AnyStation", bound="Acquisition")


@contextlib.contextmanager
def running(station: AnyStation) -> Iterator[AnyStation]:
    """Start a station, and stop it afterwards, whatever came of it."""
    station.start()
    try:
        yield station
    finally:
        station.stop()
