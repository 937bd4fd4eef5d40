"""What is done: at the wall and measured, or anywhere and only timed."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from strikebridge.club.athlete import Side

_KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


class Way(StrEnum):
    """How the result of a rep came to be known."""

    MEASURED = "measured"  # by the cell behind the wall
    TYPED = "typed"  # read off a plain scale by the coach
    TIMED = "timed"  # counted down and logged, no force


class Arm(StrEnum):
    """How the arm is held."""

    STRAIGHT = "straight"
    BENT = "bent"


@dataclass(frozen=True, slots=True)
class Exercise:
    """One exercise, out of the program's table or the coach's own.

    Attributes:
        key: stable lower-case words with hyphens, such as `rear-straight`; it is stored.
        name: as it is shown, such as `rear straight`.
        way: measured or timed.
        side: lead or rear, None where it has no side or both work.
        arm: straight or bent, None where it says nothing of it.
    """

    key: str
    name: str
    way: Way
    side: Side | None = None
    arm: Arm | None = None


def key_fault(key: str) -> str:
    """Say what is wrong with the key of an exercise.

    Args:
        key: the key.

    Returns:
        A sentence, empty where it will do.
    """
    if _KEY.fullmatch(key):
        return ""
    return f"{key!r} is no key; write lower-case words with hyphens, such as wall-press."


def key_of_name(name: str) -> str:
    """Make the key of an exercise out of its name.

    Args:
        name: such as `Wall sit, one leg`.

    Returns:
        Such as `wall-sit-one-leg`; empty where the name has no letter that a key can have.
    """
    plain = unicodedata.normalize("NFKD", name.casefold())
    letters = "".join(one for one in plain if not unicodedata.combining(one))
    return "-".join(re.findall(r"[a-z0-9]+", letters))
