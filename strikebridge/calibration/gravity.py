"""How heavy a kilogram is where the plates hang.

Normal gravity on the ellipsoid of WGS 84 (formula of Somigliana) with the second-order fall
with height; constants of the World Geodetic System 1984. Real gravity departs from it by a few
hundredths of a per mille, far below what plates are worth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from strikebridge.errors import CalibrationError
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2

EQUATOR_M_PER_S2 = 9.7803253359
SOMIGLIANA = 0.00193185265241
ECCENTRICITY_SQUARED = 0.00669437999014

LEAST_M_PER_S2 = 9.76
"""A little below the least at any inhabited height (equator, 4 km: 9.768)."""
MOST_M_PER_S2 = 9.84
"""A little above the pole at sea level (9.8322)."""
HALF_WIDTH_ANYWHERE = 0.0264
"""Standard gravity less that of the equator at sea level [m/s2]: the most it can be off."""
U_ANOMALY_M_PER_S2 = 5e-4
"""Departure of real from normal gravity, one SD: 50 mGal (value from memory)."""


@dataclass(frozen=True, slots=True)
class Gravity:
    """Local gravity and its doubt.

    Attributes:
        value_m_per_s2: acceleration of free fall [m/s2].
        u_m_per_s2: its standard uncertainty [m/s2]; 0 where it was given as a known value.
        source: where it comes from, in words.
    """

    value_m_per_s2: float
    u_m_per_s2: float
    source: str

    @property
    def u_relative(self) -> float:
        """Relative standard uncertainty."""
        return self.u_m_per_s2 / self.value_m_per_s2


STANDARD = Gravity(
    STANDARD_GRAVITY_M_PER_S2, HALF_WIDTH_ANYWHERE / math.sqrt(3.0), "standard gravity"
)
"""Where nobody said where the club is: rectangular between pole and equator."""


def normal_gravity(latitude_deg: float, elevation_m: float = 0.0) -> float:
    """Compute normal gravity of WGS 84.

    Args:
        latitude_deg: geodetic latitude [deg], -90 to 90.
        elevation_m: height above the ellipsoid [m], in practice above the sea.

    Returns:
        Acceleration [m/s2].
    """
    sin_squared = math.sin(math.radians(latitude_deg)) ** 2
    on_ellipsoid = (
        EQUATOR_M_PER_S2
        * (1.0 + SOMIGLIANA * sin_squared)
        / math.sqrt(1.0 - ECCENTRICITY_SQUARED * sin_squared)
    )
    fall = (3.087691e-6 - 4.3977e-9 * sin_squared) * elevation_m
    return on_ellipsoid - fall + 0.72125e-12 * elevation_m**2


def gravity_at(latitude_deg: float, elevation_m: float = 0.0) -> Gravity:
    """Say how heavy a kilogram is at a place.

    Args:
        latitude_deg: latitude [deg], -90 to 90.
        elevation_m: height above the sea [m], -500 to 9000.

    Returns:
        Normal gravity with the spread of real gravity about it.

    Raises:
        CalibrationError: there is no such place.
    """
    if not -90.0 <= latitude_deg <= 90.0:
        msg = f"A latitude of {latitude_deg:g} degrees does not exist. Give -90 to 90."
        raise CalibrationError(msg)
    if not -500.0 <= elevation_m <= 9000.0:
        msg = f"No club lies {elevation_m:g} m above the sea. Give the height in metres."
        raise CalibrationError(msg)
    value = normal_gravity(latitude_deg, elevation_m)
    return Gravity(value, U_ANOMALY_M_PER_S2, "latitude and height")


def given_gravity(value_m_per_s2: float) -> Gravity:
    """Take a value of gravity that the coach knows.

    Args:
        value_m_per_s2: acceleration [m/s2].

    Returns:
        That value, taken as exact.

    Raises:
        CalibrationError: it is nowhere like that on Earth.
    """
    if not LEAST_M_PER_S2 <= value_m_per_s2 <= MOST_M_PER_S2:
        msg = (
            f"Gravity is nowhere {value_m_per_s2:g} m/s2: on Earth it lies between 9.76 and"
            " 9.84. Give it in m/s2, or give latitude and height."
        )
        raise CalibrationError(msg)
    return Gravity(value_m_per_s2, 0.0, "given")
