"""What a column of numbers looks like: a clock, a running number, raw counts, a value, neither.

What is written beside a number comes first (a heading, a label, a unit); where nothing is
written, the numbers themselves have to tell. Where they cannot, nobody guesses: the column
stays open and the coach is asked.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.line_shape import Role

if TYPE_CHECKING:
    from strikebridge.samples import Floats

SLOWEST_HZ, FASTEST_HZ = 0.4, 2000.0  # rates of any board there is
FEWEST_STEPS = 5
MOST_ODD = 0.12  # share of steps that may be odd (lost lines, a reset)
OFFSET_LOW, OFFSET_HIGH = 2**22, 2**24 - 1
MIDDLE = 2**23
OFFSET_REACH = 2**21  # a resting cell is no further from the middle than this
SIGNED_REST = 2_000_000  # and hardly ever above this: public logs end at +0.5 million
SURE_COUNTS = 300_000  # more than 300 kg in grams
COUNT_STEP = 10.0  # median step at rest: 15 counts SD are a quiet board, 10 g a hopeless scale
COUNT_STEP_LOW = 4.0  # lower quartile of the same
COPY_SHARE = 0.01  # two cells do not rest so close to each other

UNITS = {
    Role.KG: ("kg", "kgs", "kgf", "kilogram", "kilograms", "kilo", "kilos"),
    Role.G: ("g", "gr", "gram", "grams", "gramm"),
    Role.LB: ("lb", "lbs", "lbf", "pound", "pounds"),
    Role.N: ("N", "newton", "newtons"),
}
UNIT_OF = {word: role for role, words in UNITS.items() for word in words}
CLOCKS = {
    Role.MS: ("ms", "msec", "millis", "milliseconds"),
    Role.US: ("us", "usec", "micros", "microseconds"),
    Role.S: ("s", "sec", "secs", "seconds"),
}
CLOCK_OF = {word: role for role, words in CLOCKS.items() for word in words}
TIME_WORDS = {"t", "time", "timestamp", "tick", "ticks", "clock", "uptime", *CLOCK_OF}
NUMBER_WORDS = {"n", "no", "nr", "seq", "sequence", "sample", "index", "i", "id", "line"}
COUNT_WORDS = {"raw", "count", "counts", "adc", "digits", "code"}
LOAD_WORDS = {
    *("cell", "load", "weight", "force", "mass", "value", "val", "reading", "readings"),
    *("ch", "channel", "scale", "sensor", "f", "w", "gewicht", "kraft", "hx", "net", "gross"),
}
SIDE_WORDS = {"avg", "average", "mean", "filtered", "smooth", "smoothed", "max", "min", "peak"}
CORNERS = {"left", "right", "top", "bottom", "front", "back", "upper", "lower", "one", "two"}
OTHER_WORDS = {
    *("temp", "temperature", "tc", "bat", "batt", "battery", "volt", "volts", "voltage", "v"),
    *("mv", "vcc", "hum", "humidity", "rssi", "state", "status", "gain", "factor", "offset"),
    *("tare", "hz", "rate", "fps", "dt", "err", "error", "errors", "crc", "checksum", "lost"),
    *("c", "calibration", "zero", "oz", "percent", "rep", "reps", "flag", "flags", "button"),
}


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """One number of the line, over all lines looked at.

    Attributes:
        label: what is written before it in the line, or above it in a heading.
        unit: what is written close behind it.
        values: its values, shape (n,).
        is_whole: True where none has decimals.
        follows: True where nothing but separators stands between the number before and it.
    """

    label: str
    unit: str
    values: Floats
    is_whole: bool
    follows: bool

    @property
    def words(self) -> set[str]:
        """The words of the label, in lower case, without digits."""
        return {word.lower() for word in _split(self.label)}

    @property
    def stem(self) -> tuple[str, ...]:
        """The label without what numbers one of several cells."""
        words = [word.lower() for word in _split(self.label)]
        return tuple(w for w in words if w in ("w", "f") or (len(w) > 1 and w not in CORNERS))

    @property
    def is_still(self) -> bool:
        """True where it never changes."""
        return bool((self.values == self.values[0]).all())

    @property
    def named_unit(self) -> Role | None:
        """The unit that is written beside it, None where none is."""
        named = [self.unit, *_split(self.label)]
        roles = [
            UNIT_OF[word if word == "N" else word.lower()]
            for word in named
            if word == "N" or word.lower() in UNIT_OF
        ]
        return roles[0] if roles else None

    @property
    def is_other(self) -> bool:
        """True where the words say that it is no load: a temperature, a battery."""
        return bool(self.words & OTHER_WORDS) or self.unit in ("V", "mV", "C", "%", "oz", "t")

    @property
    def is_named_counts(self) -> bool:
        """True where the words say that it is the converter's count."""
        return bool(self.words & COUNT_WORDS) and self.named_unit is None

    def rank(self) -> int:
        """Say how likely it is the load, by its words: the higher, the likelier."""
        if self.is_other:
            return 0
        if self.words & SIDE_WORDS:
            return 1
        if self.is_named_counts:
            return 4
        if self.named_unit is not None or self.words & LOAD_WORDS:
            return 3
        return 2

    def number_step(self) -> bool:
        """Say whether it counts the lines: by ones, but for lost lines."""
        steps = np.diff(self.values)
        if not self.is_whole or len(steps) < FEWEST_STEPS:
            return False
        return bool(np.mean(steps == 1.0) >= 1.0 - MOST_ODD)

    def rises_evenly(self) -> bool:
        """Say whether it goes up by about the same with every line, as a clock does."""
        steps = np.diff(self.values)
        if len(steps) < FEWEST_STEPS:
            return False
        usual = float(np.median(steps))
        if usual <= 0.0:
            return False
        even = (steps > 0.45 * usual) & (steps < 1.8 * usual)
        return bool(np.mean(even) >= 1.0 - MOST_ODD)

    def clock_roles(self, span_s: float) -> list[Role]:
        """Say in which units it may be a clock.

        Args:
            span_s: time that the lines took to arrive [s], 0 where nobody knows.
        """
        named = [CLOCK_OF[word] for word in (*self.words, self.unit) if word in CLOCK_OF]
        usual = float(np.median(np.diff(self.values)))
        fits = [
            role
            for role, second in ((Role.MS, 1e3), (Role.US, 1e6), (Role.S, 1.0))
            if SLOWEST_HZ <= second / usual <= FASTEST_HZ
        ]
        gone = float(self.values[-1] - self.values[0])
        if span_s > 0.5:
            fits = [r for r in fits if 0.5 < gone / SECONDS[r] / span_s < 2.0] or fits
        return [role for role in fits if role in named] or fits

    def count_role(self) -> Role | None:
        """Say which kind of raw counts it looks like, None where it does not, or may not."""
        if not self.is_whole:
            return None
        values = self.values
        rest = float(np.median(values))
        if values.min() >= 0 and values.max() <= OFFSET_HIGH:
            is_beyond = values.max() >= MIDDLE and values.min() >= OFFSET_LOW
            is_near = abs(rest - MIDDLE) < OFFSET_REACH and rest > SIGNED_REST
            if (is_beyond or is_near) and not (values == MIDDLE - 1).all():
                return Role.OFFSET
        if np.abs(values).max() >= SURE_COUNTS:
            return Role.COUNT
        steps = np.abs(np.diff(values))
        low, middle = np.quantile(steps, (0.25, 0.5)) if len(steps) else (0.0, 0.0)
        return Role.COUNT if middle >= COUNT_STEP and low >= COUNT_STEP_LOW else None

    def is_copy_of(self, other: Column) -> bool:
        """Say whether it may be the same as another column, only smoothed."""
        mine, theirs = float(np.median(self.values)), float(np.median(other.values))
        spread = float(np.median(np.abs(np.diff(other.values)))) if len(other.values) > 1 else 0
        return abs(mine - theirs) <= max(COPY_SHARE * abs(theirs), 2.0 * spread)


SECONDS = {Role.MS: 1e3, Role.US: 1e6, Role.S: 1.0}


def _split(text: str) -> list[str]:
    """Split a label into words: at signs, underscores, digits and humps."""
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)
    return re.findall(r"[A-Za-z]+", text)
