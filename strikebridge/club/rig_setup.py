"""How wall and fist were set up. The same punch at another set-up is another test.

A set-up is known by a key: the beginning of the SHA-256 of its content, lengths in whole
millimetres and the angle in whole degrees, so that the same set-up typed twice is the same.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from enum import StrEnum

KEY_LETTERS = 16


class Pad(StrEnum):
    """What is pushed against."""

    BALL = "ball"
    CUSHION = "cushion"


class Cover(StrEnum):
    """What is on the hand."""

    GLOVE = "glove"
    WRAP = "wrap"
    BARE = "bare"


class Fist(StrEnum):
    """How the hand meets the pad."""

    FIST = "fist"
    PALM = "palm"


class Feet(StrEnum):
    """How the athlete stands at the start."""

    SQUARE = "square"
    SIDE_ON = "side-on"


@dataclass(frozen=True, slots=True)
class RigSetup:
    """One set-up; what was not noted is None and is a set-up of its own.

    Attributes:
        pad_height_m: floor to the middle of the pad [m].
        distance_m: pad to the toes of the front foot [m].
        pad: ball or cushion.
        cover: glove, wrap or bare.
        fist: fist or palm.
        elbow_deg: angle of the elbow [degrees], 180 for a straight arm.
        feet: square or side-on.
    """

    pad_height_m: float | None = None
    distance_m: float | None = None
    pad: Pad | None = None
    cover: Cover | None = None
    fist: Fist | None = None
    elbow_deg: float | None = None
    feet: Feet | None = None

    @property
    def key(self) -> str:
        """What tells set-ups apart: hexadecimal, the same on every computer."""
        said = {
            "pad_height_mm": _whole(self.pad_height_m, 1000.0),
            "distance_mm": _whole(self.distance_m, 1000.0),
            "pad": self.pad,
            "cover": self.cover,
            "fist": self.fist,
            "elbow_deg": _whole(self.elbow_deg, 1.0),
            "feet": self.feet,
        }
        text = json.dumps(said, sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()[:KEY_LETTERS]


def _whole(value: float | None, per_unit: float) -> int | None:
    """Count in whole small units, so that 1.4 and 1.40 are the same."""
    return None if value is None else round(value * per_unit)
