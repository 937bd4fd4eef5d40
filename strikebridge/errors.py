"""Every error a user can meet, in one tree.

```
StrikebridgeError
+- BoardError                  the board or its cable; carries the address and a reason
|  +- BoardNotFoundError       no such port
|  |  +- AddressError          no such scheme, a wrong option in the address (also a ValueError)
|  +- BoardBusyError           another program holds the port
|  +- BoardLostError           the plug was pulled; the radio went out of range
|  +- BoardSilentError         open, but nothing came (also a TimeoutError)
|  +- BluetoothUnavailableError  no Bluetooth here, or it is off, or forbidden; says which
+- CalibrationError            a certificate that cannot be read, was altered, or does not fit
+- CheckError                  a history of checks that cannot be read or written
+- RecordingError              a recording that cannot be written (disk full) or read
+- ScreenError                 no window can be opened: no screen, a missing library
+- StoreError                  the database cannot be opened, read or written
+- SafekeepingError            a backup, a restore or an erasure that cannot be done
+- PlanError                   a plan that is unknown, or beyond its own dose
|  +- FaultyPlanError          mistakes in its file, each named by line and field
+- SessionError                a session that cannot be begun, taken up again or kept
+- RosterError                 no such athlete or group, or there is one already
|  +- ConsentError             an under-age athlete without a recorded consent
+- FormatError                 a table or file the user handed in; names line and column
|  +- FaultyFileError          several things are wrong with it, each of them named
```

Messages are whole sentences for a coach: what happened, what is safe, what to do. A mistake of
our own caller is a plain ValueError or TypeError. Foreign exceptions become ours once, at the
door module.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


class StrikebridgeError(Exception):
    """Base of all errors whose message may be shown to a coach as it stands."""


class BoardError(StrikebridgeError):
    """Something is wrong with a board or the way to it.

    Attributes:
        address: board address as the user wrote it, such as `serial:/dev/ttyUSB0`.
    """

    def __init__(self, message: str, *, address: str = "") -> None:
        super().__init__(message)
        self.address = address


class BoardNotFoundError(BoardError):
    """There is no board at this address."""


class AddressError(BoardNotFoundError, ValueError):
    """The address of a board cannot be read; the message says what to write instead."""


class BoardBusyError(BoardError):
    """Another program holds the port."""


class BoardLostError(BoardError):
    """The board was there and went away."""


class BoardSilentError(BoardError, TimeoutError):
    """The port is open and nothing arrives."""


class NoBluetooth(StrEnum):
    """Why there is no Bluetooth."""

    MISSING = "missing"
    OFF = "off"
    FORBIDDEN = "forbidden"
    UNKNOWN = "unknown"


class BluetoothUnavailableError(BoardError):
    """This computer's Bluetooth cannot be used; boards on a cable can.

    Attributes:
        reason: why.
    """

    def __init__(self, message: str, *, reason: NoBluetooth, address: str = "") -> None:
        super().__init__(message, address=address)
        self.reason = reason


class CalibrationError(StrikebridgeError):
    """A calibration cannot be read, was altered, or cannot be used for this stream."""


class CheckError(StrikebridgeError):
    """A check cannot be made, or its history cannot be read or written."""


class RecordingError(StrikebridgeError):
    """A recording cannot be written or read."""


class ScreenError(StrikebridgeError):
    """No window can be opened here."""


class StoreError(StrikebridgeError):
    """The database of athletes and sessions cannot be opened, read or written."""


class SafekeepingError(StrikebridgeError):
    """A backup, a restore or an erasure cannot be done, or not to its end."""


class PlanError(StrikebridgeError):
    """A plan cannot be run as it is."""


class FaultyPlanError(PlanError):
    """The file of a plan has mistakes.

    Attributes:
        faults: each with its line and its field, in the order of the file.
    """

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__(
            "The plan has mistakes, and nothing has begun:\n" + "\n".join(self.faults)
        )


class SessionError(StrikebridgeError):
    """A session cannot be begun, taken up again or kept."""


class RosterError(StrikebridgeError):
    """The roster is not changed: somebody is not in it, or is there already."""


class ConsentError(RosterError):
    """Nothing of an under-age athlete is stored before consent is recorded."""


class FormatError(StrikebridgeError, ValueError):
    """A file the user handed in has something wrong at a known place.

    Attributes:
        line: line number from 1, or None where the whole file is meant.
        column: name of the column, or None.
    """

    def __init__(
        self, message: str, *, line: int | None = None, column: str | None = None
    ) -> None:
        super().__init__(message)
        self.line = line
        self.column = column


class FaultyFileError(FormatError):
    """A file the user handed in has one or more things wrong; nothing of it was taken.

    Attributes:
        errors: one for each place, in the order of the file.
    """

    def __init__(self, errors: Sequence[FormatError]) -> None:
        super().__init__("\n".join(str(error) for error in errors))
        self.errors = tuple(errors)
