"""What a group session says as it goes on; whoever listens stores, records or shows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from strikebridge.club.training import Closing
    from strikebridge.samples import Prescription, Rep
    from strikebridge.session.conductor import Call
    from strikebridge.session.turns import Turn


@dataclass(frozen=True, slots=True)
class Turned:
    """It is this athlete's turn now."""

    turn: Turn


@dataclass(frozen=True, slots=True)
class Prescribed:
    """This is asked for from here on."""

    prescription: Prescription


@dataclass(frozen=True, slots=True)
class Called:
    """This was said aloud."""

    call: Call


@dataclass(frozen=True, slots=True, eq=False)
class Done:
    """A turn is done.

    Attributes:
        turn: the turn.
        attempt: 1, or more for a redo.
        prescription: what was asked for.
        rep: the hold, None where it was only timed.
        cue: cue given since the athlete's rep before, empty without one.
    """

    turn: Turn
    attempt: int
    prescription: Prescription
    rep: Rep | None
    cue: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Extra:
    """A hold that was no turn's: nobody asked for it, or it was cut off."""

    rep: Rep


@dataclass(frozen=True, slots=True)
class TakenBack:
    """The result of a turn counts no longer."""

    turn: Turn


@dataclass(frozen=True, slots=True)
class Closed:
    """A turn is over without a result that counts."""

    turn: Turn
    why: Closing


@dataclass(frozen=True, slots=True)
class Reopened:
    """A turn that was over comes again."""

    turn: Turn


@dataclass(frozen=True, slots=True)
class Cued:
    """A cue was given, before this turn."""

    turn: Turn
    cue: str


@dataclass(frozen=True, slots=True)
class Stopped:
    """An exercise was ended for pain after its last turn; that turn keeps its result.

    Attributes:
        turn: the last one that was shown.
        is_off: True where the coach took that back.
    """

    turn: Turn
    is_off: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Undone:
    """The coach took back what was done last.

    Attributes:
        turn: the first turn that it was about; None where there was nothing to take back.
        why: how that turn had ended; None where it had a result.
        rep: the hold that counts no longer, None where there was none.
    """

    turn: Turn | None = None
    why: Closing | None = None
    rep: Rep | None = None


@dataclass(frozen=True, slots=True)
class Named:
    """Redo again would take this back; it is not what was seen to end last.

    Attributes:
        turn: the first turn that would come again.
        is_before: True where it was over before the session broke off.
    """

    turn: Turn
    is_before: bool


@dataclass(frozen=True, slots=True)
class Advised:
    """Somebody has pain: the coach should read what to do.

    Attributes:
        turn: whose, and at what.
    """

    turn: Turn


@dataclass(frozen=True, slots=True)
class Finished:
    """Every turn is over."""


Happening = (
    Turned
    | Prescribed
    | Called
    | Done
    | Extra
    | TakenBack
    | Closed
    | Reopened
    | Cued
    | Stopped
    | Undone
    | Named
    | Advised
    | Finished
)
