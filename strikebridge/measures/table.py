"""The table of measures: a new one is a function under `@measure(name, unit, version)`.

A measure looks at one `View` of a hold and returns an `Estimate`, or `Withheld` with the reason
in plain words.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.measures.view import View


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its doubt, before it is given a name and a coverage factor.

    Attributes:
        value: in the unit of the measure.
        normal: standard uncertainties that are independent from rep to rep, treated as
            normal, in the unit of the measure.
        rectangular: likewise, for doubts that only have limits: half-width / sqrt 3.
        common: standard uncertainty shared with all that used the same certificate.
        coarse: why the value is only coarse, in plain words; empty where it is sound.
    """

    value: float
    normal: tuple[float, ...] = ()
    rectangular: tuple[float, ...] = ()
    common: float = 0.0
    coarse: str = ""

    @property
    def u_own(self) -> float:
        """Root sum of squares of everything that is independent from rep to rep."""
        return math.hypot(*self.normal, *self.rectangular)


@dataclass(frozen=True, slots=True)
class Withheld:
    """No value, and why.

    Attributes:
        reason: plain words for a coach.
    """

    reason: str


Outcome = Estimate | Withheld


@dataclass(frozen=True, slots=True)
class Definition:
    """One row of the table.

    Attributes:
        name: stable key.
        unit: UCUM code.
        version: raised whenever the definition changes.
        evaluate: the function that finds the value in a view of a hold.
    """

    name: str
    unit: str
    version: int
    evaluate: Callable[[View], Outcome]

    @property
    def text(self) -> str:
        """The definition as written: formula in words, uncertainty, reference."""
        return self.evaluate.__doc__ or ""


DEFINITIONS: dict[str, Definition] = {}
"""Name -> definition, as the families enter them."""


def measure(
    name: str, unit: str, version: int
) -> Callable[[Callable[[View], Outcome]], Callable[[View], Outcome]]:
    """Enter the decorated function into the table.

    Args:
        name: stable key in lower case, such as `peak_force`; it is stored.
        unit: UCUM code, such as `N.s`.
        version: version of the definition, from 1.

    Returns:
        A decorator that hands the function back unchanged.

    Raises:
        ValueError: when the name is taken.
    """

    def enter(evaluate: Callable[[View], Outcome]) -> Callable[[View], Outcome]:
        if name in DEFINITIONS:
            raise ValueError(f"There is already a measure named {name!r}.")
        DEFINITIONS[name] = Definition(name, unit, version, evaluate)
        return evaluate

    return enter
