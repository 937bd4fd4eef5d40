"""Numbers and days as a reader of one language expects them, each with its unit and its ±.

Rounding is that of the screens (`units`): no number is finer than its doubt. Between a number
and its unit stands a space that does not break, before a loss a real minus sign.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.units import (
    STANDARD_GRAVITY_M_PER_S2,
    ForceUnit,
    decimals_for,
    from_newtons,
    rounded_up,
)

if TYPE_CHECKING:
    from datetime import date, datetime

    from strikebridge.progress.estimate import Estimate
    from strikebridge.reports.language import Language
    from strikebridge.samples import MeasureValue

SPACE = "\u00a0"  # does not break
MINUS = "\u2212"
NOTHING = "\u2013"  # an en dash, for what there is no number of
PLUS_MINUS = f"{SPACE}±{SPACE}"
MOST_MORE = 2  # decimals beyond what the doubt allows


@dataclass(frozen=True, slots=True)
class Wording:
    """A language and a unit of force.

    Attributes:
        language: the language.
        unit: kg, N or lb.
    """

    language: Language
    unit: ForceUnit = ForceUnit.KG

    def force(
        self, force_N: float | None, u95_N: float | None = None, *, is_signed: bool = False
    ) -> str:
        """Write a force with its ±.

        Args:
            force_N: force [N]; None where there is none.
            u95_N: expanded uncertainty [N]; None where it is not known.
            is_signed: put a plus before a gain.

        Returns:
            Such as `41.2 ± 0.6 kg`.
        """
        if force_N is None:
            return NOTHING
        n = self.unit is ForceUnit.N
        digits = _digits(
            from_newtons(force_N, self.unit),
            None if u95_N is None else from_newtons(u95_N, self.unit),
            most=0 if n else 1,
            fewest=-2,
            is_signed=is_signed,
        )
        return self._marked(digits) + SPACE + self.unit.value

    def estimate(self, one: Estimate, *, is_signed: bool = True) -> str:
        """Write an estimated force, or percentage, with the half-width of its interval.

        Args:
            one: in N, N/wk or %.
            is_signed: put a plus before a gain.
        """
        if one.unit == "%":
            return self.number(one.value, one.u95, "%", is_signed=is_signed)
        words = self.force(one.value, one.u95, is_signed=is_signed)
        return self.language.say("unit.a_week", force=words) if "/wk" in one.unit else words

    def number(
        self,
        value: float | None,
        u95: float | None,
        unit: str,
        *,
        most: int = 1,
        is_signed: bool = False,
    ) -> str:
        """Write any other number with its ± and unit.

        Args:
            value: None where there is none.
            u95: expanded uncertainty; None where it is not known: then whole units.
            unit: written behind it, empty for none.
            most: most decimals to show.
            is_signed: put a plus before a gain.
        """
        if value is None:
            return NOTHING
        digits = _digits(value, u95, most=most, fewest=0, is_signed=is_signed)
        return self._marked(digits) + (SPACE + unit if unit else "")

    def measure(self, value: MeasureValue | None, *, most: int = 1) -> str:
        """Write a measure of a rep in the unit people read; a dash where it is withheld.

        Args:
            value: None where there is none.
            most: most decimals of what is not a force.
        """
        if value is None:
            return NOTHING
        if value.unit == "N":
            return self.force(value.value, value.u95)
        return self.number(value.value, value.u95, value.unit, most=most)

    def body_weights(self, one: Estimate) -> str:
        """Write strength per body mass as a multiple of the body's weight.

        Args:
            one: in N/kg.
        """
        g = STANDARD_GRAVITY_M_PER_S2
        times = self.number(one.value / g, one.u95 / g, "", most=2)
        return self.language.say("unit.body_weights", times=times)

    def plain(self, force_N: float) -> float:
        """Convert a force to the unit of the page, for an axis.

        Args:
            force_N: force [N].
        """
        return from_newtons(force_N, self.unit)

    def tick(self, value: float, decimals: int = 0) -> str:
        """Write the number at a tick of an axis, which has no doubt.

        Args:
            value: the number.
            decimals: how many to show.
        """
        return self._marked(f"{value + 0.0:.{decimals}f}")

    def day(self, day: date | datetime) -> str:
        """Write a day in full, such as `2 March 2026`."""
        month = self.language.say(f"month.{day.month}")
        return self.language.say("day.full", day=day.day, month=month, year=day.year)

    def short_day(self, day: date | datetime) -> str:
        """Write a day for the axis of a picture, such as `2 Mar`."""
        month = self.language.say(f"month_short.{day.month}")
        return self.language.say("day.short", day=day.day, month=month)

    def listed(self, words: tuple[str, ...] | list[str]) -> str:
        """Join words as a list, such as `a, b and c`."""
        if len(words) < 2:
            return "".join(words)
        return self.language.say("list.last", before=", ".join(words[:-1]), last=words[-1])

    def exercise(self, key: str, name: str | None = None) -> str:
        """Name an exercise; one of the coach's own keeps the coach's name.

        Args:
            key: its key.
            name: the coach's name for it.
        """
        known = f"exercise.{key}"
        if self.language.knows(known):
            return self.language.say(known)
        return name or key.replace("-", " ")

    def _marked(self, digits: str) -> str:
        """Put in the decimal mark of the language and real minus signs."""
        mark = self.language.say("number.decimal_mark")
        return digits.replace(".", mark).replace("-", MINUS)


def _digits(value: float, u95: float | None, *, most: int, fewest: int, is_signed: bool) -> str:
    """Write a value and its doubt to the decimals that the doubt allows.

    A doubt is rounded up, never to nothing. Where rounding would turn a value that is larger
    than its doubt into one that is not, as many decimals more are shown as tell which it is.
    """
    decimals = decimals_for(u95, most=most, fewest=fewest)
    if u95 is None:
        return _signed(value, decimals, is_signed=is_signed)
    is_larger = abs(value) > u95
    more = (
        one
        for one in range(decimals, decimals + MOST_MORE)
        if is_larger == (round(abs(value), one) > rounded_up(u95, one))
    )
    decimals = next(more, decimals + MOST_MORE)
    doubt = rounded_up(u95, decimals)
    shown = f"{doubt:.{max(0, decimals)}f}"
    return f"{_signed(value, decimals, is_signed=is_signed)}{PLUS_MINUS}{shown}"


def _signed(value: float, decimals: int, *, is_signed: bool) -> str:
    """Write a rounded value; nothing has no sign."""
    shown = round(value, decimals) + 0.0
    return f"{shown:{'+' if is_signed and shown else ''}.{max(0, decimals)}f}"
