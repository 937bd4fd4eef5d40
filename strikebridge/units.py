"""Units of force as the coach reads them; everything inside the program is newtons.

Sources: standard gravity 9.806 65 m/s2 (3rd CGPM, 1901); avoirdupois pound 0.453 592 37 kg
(1959 agreement). A force shown in kg is the mass that standard gravity would give that weight.
"""

from __future__ import annotations

import math
from enum import StrEnum

STANDARD_GRAVITY_M_PER_S2 = 9.80665
POUND_KG = 0.45359237


class ForceUnit(StrEnum):
    """The unit a coach chose for the screen and the printed page."""

    KG = "kg"
    N = "N"
    LB = "lb"


NEWTONS_PER_UNIT: dict[ForceUnit, float] = {
    ForceUnit.KG: STANDARD_GRAVITY_M_PER_S2,
    ForceUnit.N: 1.0,
    ForceUnit.LB: POUND_KG * STANDARD_GRAVITY_M_PER_S2,
}


def from_newtons(force_N: float, unit: ForceUnit) -> float:
    """Convert a force to the coach's unit.

    Args:
        force_N: force [N].
        unit: kg, N or lb.

    Returns:
        The same force in `unit`.
    """
    return force_N / NEWTONS_PER_UNIT[unit]


def to_newtons(value: float, unit: ForceUnit) -> float:
    """Convert a force in the coach's unit to newtons.

    Args:
        value: force in `unit`.
        unit: kg, N or lb.

    Returns:
        The same force [N].
    """
    return value * NEWTONS_PER_UNIT[unit]


def decimals_for(u95: float | None, *, most: int = 1, fewest: int = 0) -> int:
    """Choose how many decimals a value may show, so that none is finer than its uncertainty.

    The uncertainty keeps two significant digits where its leading digits are below 3.55, one
    above, and the value goes as far as it does: the rounding rule of the Particle Data Group
    (Review of Particle Physics, Introduction, "Rounding"), within JCGM 100:2008, 7.2.6 (two
    digits at the most).

    Args:
        u95: expanded uncertainty in the shown unit, or None where there is none.
        most: upper limit; a wall screen wants few digits.
        fewest: lower limit; below 0, tens or hundreds are rounded too.

    Returns:
        Number of decimals, `fewest` to `most`.
    """
    if u95 is None or not math.isfinite(u95) or u95 <= 0.0:
        return most if u95 == 0.0 else 0
    exponent = math.floor(math.log10(u95))
    leading = u95 / 10.0**exponent
    if leading >= 9.5:  # is rounded up to the next power of ten
        exponent, leading = exponent + 1, 1.0
    digits = 2 if leading < 3.55 else 1
    return max(fewest, min(most, digits - 1 - exponent))


def show_force(
    force_N: float, u95_N: float | None, unit: ForceUnit, *, is_signed: bool = False
) -> str:
    """Write a force in the coach's unit, without the unit, no finer than it is known.

    Args:
        force_N: force [N].
        u95_N: expanded uncertainty [N], None where it is not known: then whole units.
        unit: kg, N or lb; kg and lb get one decimal at the most, N none.
        is_signed: put a plus before a gain.

    Returns:
        Digits with a decimal point, such as `84.6`.
    """
    u95 = None if u95_N is None else from_newtons(u95_N, unit)
    decimals = decimals_for(u95, most=0 if unit is ForceUnit.N else 1, fewest=-2)
    value = round(from_newtons(force_N, unit), decimals) + 0.0  # no minus before a zero
    sign = "+" if is_signed else ""
    return f"{value:{sign}.{max(0, decimals)}f}"


def show_doubt(u95_N: float, unit: ForceUnit) -> str:
    """Write an expanded uncertainty in the coach's unit, rounded up, never to nothing.

    Args:
        u95_N: expanded uncertainty [N].
        unit: kg, N or lb.

    Returns:
        Digits with as many decimals as the value beside it has.
    """
    u95 = from_newtons(u95_N, unit)
    decimals = decimals_for(u95, most=0 if unit is ForceUnit.N else 1, fewest=-2)
    return f"{rounded_up(u95, decimals):.{max(0, decimals)}f}"


def rounded_up(u95: float, decimals: int) -> float:
    """Round an expanded uncertainty up, never to nothing, as everywhere in the program.

    Args:
        u95: expanded uncertainty in the shown unit.
        decimals: how many the value beside it shows; below 0, tens or hundreds.

    Returns:
        A whole number of steps of the last shown digit, one at the least.
    """
    step = 10.0**-decimals
    # the hair keeps a doubt that already is a whole number of steps from being rounded up
    return max(step, math.ceil(u95 / step - 1e-9) * step)
