"""A number with its interval, and the word for it.

The rule for the coverage factor is that of the measures: a quantile of the t distribution at
the degrees of freedom, cut down to a whole number, and 2 where there are more than 60.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from strikebridge.measures.coverage import MANY_DOF, PROBABILITY, normal_coverage

LIKELY = 0.90
"""Chance that a change called likely is not of the other sign; about 1.8 typical errors for one
test against one, between the 1.5 and 2 that Hopkins 2000 (Sports Med 30:1-15) speaks of."""

MARGIN = 1.04
"""Every scatter found from a few reps or tests is widened by this. The models behind it are
nearly right, not quite (athletes do not vary by one law); without the margin `real` would be
said of about 2.5 % of what has not changed, each way, with it of at most that many."""


class Word(StrEnum):
    """How sure a change is."""

    REAL = "real"
    LIKELY = "likely"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number with its doubt.

    Attributes:
        value: in `unit`.
        unit: UCUM code.
        u: standard uncertainty, in `unit`.
        dof: its degrees of freedom, infinity where it is known.
    """

    value: float
    unit: str
    u: float
    dof: float = math.inf

    @property
    def u95(self) -> float:
        """Half-width of the 95 % interval, in `unit`; also the least that would be real."""
        return normal_coverage(self.dof) * self.u

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval, in `unit`."""
        return self.value - self.u95

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval, in `unit`."""
        return self.value + self.u95

    @property
    def word(self) -> Word:
        """How sure it is that the value is not zero and has its sign."""
        if abs(self.value) > self.u95:
            return Word.REAL
        if abs(self.value) > one_sided(LIKELY, self.dof) * self.u:
            return Word.LIKELY
        return Word.CANNOT_TELL


def one_sided(probability: float, dof: float) -> float:
    """Find the quantile of the t distribution, above 60 degrees of freedom that of 60.

    Args:
        probability: of lying below it.
        dof: degrees of freedom; cut down to a whole number, at least 1.
    """
    from scipy.special import stdtrit  # noqa: PLC0415 - a part of a second, so on use

    return float(stdtrit(max(1.0, math.floor(min(dof, MANY_DOF))), probability))


def joined_dof(parts: list[tuple[float, float]]) -> float:
    """Combine degrees of freedom (Welch-Satterthwaite, JCGM 100:2008, G.4.1).

    Args:
        parts: standard uncertainty and degrees of freedom of each independent part.

    Returns:
        Effective degrees of freedom of the root sum of squares, infinity without any doubt.
    """
    squares = sum(u**2 for u, _ in parts)
    weight = sum(u**4 / dof for u, dof in parts if u > 0.0)
    return squares**2 / weight if weight > 0.0 else math.inf


def spread_interval(spread: float, dof: float) -> tuple[float, float]:
    """Find between which a standard deviation lies (95 %), from the chi-squared distribution.

    Args:
        spread: as estimated.
        dof: its degrees of freedom, above 0.

    Returns:
        Lower and upper end, in the unit of the spread.
    """
    from scipy.special import chdtri  # noqa: PLC0415 - as above

    tail = (1.0 - PROBABILITY) / 2.0
    low, high = (spread * math.sqrt(dof / float(chdtri(dof, p))) for p in (tail, 1.0 - tail))
    return low, high
