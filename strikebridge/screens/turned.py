"""What the coach turned to by D and U: colours and unit, kept in the data folder for next time.

It is of this laptop and its screens, and of nobody in the roster.
"""

from __future__ import annotations

import logging
import os
from dataclasses import dataclass
from typing import TYPE_CHECKING

import msgspec

from strikebridge.private_files import open_private, private_folder
from strikebridge.screens.look import SCHEMES
from strikebridge.units import ForceUnit  # noqa: TC001 - msgspec reads the annotation

if TYPE_CHECKING:
    from pathlib import Path

log = logging.getLogger(__name__)
FILE = "screens.json"


class _Kept(msgspec.Struct, frozen=True):
    """What the file holds; what is missing was never turned."""

    scheme: str | None = None
    unit: ForceUnit | None = None


@dataclass(slots=True)
class Turned:
    """What the coach turned to by a key, in whichever window; the next one opens with it.

    Attributes:
        scheme: `dark` or `light`, None as long as it was not turned.
        unit: unit of the force, None as long as it was not turned.
        data: data folder that keeps it, None to keep it for this run alone.
    """

    scheme: str | None = None
    unit: ForceUnit | None = None
    data: Path | None = None

    def turn(self, scheme: str | None, unit: ForceUnit | None) -> None:
        """Take over what was turned, and keep it.

        Args:
            scheme: colours, None where they were not turned.
            unit: unit, None where it was not turned.
        """
        if scheme is None and unit is None:
            return
        self.scheme, self.unit = scheme or self.scheme, unit or self.unit
        if self.data is not None:
            # what was not turned here stays as it was turned before
            kept = _read(self.data)
            _write(self.data, _Kept(scheme or kept.scheme, unit or kept.unit))


def turned_in(
    data: Path, *, scheme_is_said: bool = False, unit_is_said: bool = False
) -> Turned:
    """Look up what was turned to in a data folder.

    Args:
        data: the data folder; it need not exist.
        scheme_is_said: True where the colours were asked for this time.
        unit_is_said: True where the unit was.

    Returns:
        What the first window opens with, unless it was said this time.
    """
    kept = _read(data)
    scheme = None if scheme_is_said or kept.scheme not in SCHEMES else kept.scheme
    return Turned(scheme, None if unit_is_said else kept.unit, data)


def _read(data: Path) -> _Kept:
    try:
        return msgspec.json.decode((data / FILE).read_bytes(), type=_Kept)
    except (OSError, msgspec.MsgspecError):
        return _Kept()  # of another version, or none: the usual colours and unit


def _write(data: Path, kept: _Kept) -> None:
    fresh = data / f"{FILE}.new"
    try:
        private_folder(data)
        with open_private(fresh, "wb") as file:
            file.write(msgspec.json.encode(kept) + b"\n")
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(data / FILE)
    except OSError as error:  # it is then as usual next time, which harms nobody
        log.warning("%s cannot be kept: %s", data / FILE, error.strerror)
