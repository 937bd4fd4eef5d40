"""What a check shows while it runs: frozen values, the same for the terminal and the window."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from strikebridge.checks.judging import Check
    from strikebridge.glance import Trouble


class CheckState(StrEnum):
    """What the check is doing."""

    ZERO = "zero"  # the untouched rig settles, then its mean is taken
    LOAD = "load"  # the reference is awaited, settles, and is taken
    BACK = "back"  # the rig is relieved, settles, and is taken once more
    DONE = "done"
    CANCELLED = "cancelled"


class CheckKey(StrEnum):
    """What a coach can press."""

    NEXT = "next"  # take it as it is
    REDO = "redo"  # begin the check again
    CANCEL = "cancel"


ENDED = (CheckState.DONE, CheckState.CANCELLED)


@dataclass(frozen=True, slots=True)
class CheckView:
    """Everything a screen may show of a check at one moment.

    Attributes:
        state: what the check is doing.
        instruction: what to do now, one sentence, to be shown biggest.
        detail: why, or what to mind; may be empty.
        steadiness: the reading in words.
        is_stable: whether it is stable.
        force_N: what the certificate makes of the reading, above the zero just measured, or
            above that of the certificate before that [N]; None while nothing comes.
        wanted_N: load of the reference [N]; 0 where nothing is to lie on.
        steps_done: steps behind us.
        steps_total: steps in all.
        taking_share: how much of the mean is taken, 0 to 1; 0 while none is.
        keys: which keys mean something now.
        check: the finished check, None before the end.
        trouble: what is wrong with the board, None if all is well.
    """

    state: CheckState
    instruction: str
    detail: str = ""
    steadiness: str = ""
    is_stable: bool = False
    force_N: float | None = None
    wanted_N: float = 0.0
    steps_done: int = 0
    steps_total: int = 1
    taking_share: float = 0.0
    keys: tuple[CheckKey, ...] = ()
    check: Check | None = None
    trouble: Trouble | None = None
