"""What a check says: what to do now, and what came out, in plain words with numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.checks.check_view import CheckState
from strikebridge.checks.history import ADVICE, Verdict, Way
from strikebridge.checks.judging import FAR_OFF, NOISY
from strikebridge.checks.trend import gain_trend, zero_trend
from strikebridge.units import ForceUnit, decimals_for, from_newtons, rounded_up

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.checks.expected import Reference
    from strikebridge.checks.history import CheckRecord
    from strikebridge.checks.judging import Check, Gain, Shift

PUT_ON = {
    Way.PLATE: "Lay the rig flat and put the {words} on.",
    Way.SCALE: "Pull along the punch: {words}. Hold it there.",
    Way.SHUNT: "Connect the {words}.",
}
TAKE_OFF = {
    Way.PLATE: "Take the plate off, hands off the rig.",
    Way.SCALE: "Let go of the scale, hands off the rig.",
    Way.SHUNT: "Disconnect the resistor, hands off the rig.",
}
LATE = (
    "It does not settle. Look for a swinging plate or a hand on the rig, or take it as it is."
)


def instruction(state: CheckState, reference: Reference, *, is_taking: bool) -> str:
    """Say what to do now.

    Args:
        state: what the check is doing.
        reference: what is put on.
        is_taking: True while the mean is taken.

    Returns:
        One sentence.
    """
    if state is CheckState.DONE:
        return "The check is done."
    if state is CheckState.CANCELLED:
        return "The check was cancelled. Nothing was decided."
    if is_taking:
        is_pull = state is CheckState.LOAD and reference.way is Way.SCALE
        return "Hold it there." if is_pull else "Hands off: the mean is being taken."
    if state is CheckState.ZERO:
        return "Leave the rig alone: nobody leans on it, nothing lies on it."
    words = PUT_ON if state is CheckState.LOAD else TAKE_OFF
    return words[reference.way].format(words=reference.words)


def detail(state: CheckState, reference: Reference, *, is_late: bool) -> str:
    """Say why, or what to mind.

    Args:
        state: what the check is doing.
        reference: what is put on.
        is_late: True where the reading has not settled for long.

    Returns:
        One or two sentences, may be empty.
    """
    if is_late and state in (CheckState.ZERO, CheckState.LOAD, CheckState.BACK):
        return LATE
    if state is CheckState.LOAD and reference.way is Way.PLATE:
        return "The plate must press in the direction of the punch, and touch nothing else."
    if state is CheckState.LOAD and reference.way is Way.SHUNT:
        return "A resistor checks wires and converter, not the cell itself."
    return ""


def verdict_sentence(check: Check) -> str:
    """Say how the check ended and what to do.

    Args:
        check: the check.

    Returns:
        One or two sentences.
    """
    if check.gain is not None and check.verdict is Verdict.GAIN_MOVED:
        return _gain_verdict(check.gain)
    what = {
        Verdict.GOOD: "Good: nothing has moved",
        Verdict.ZERO_MOVED: "Zero moved since the last check",
        Verdict.CELL_DAMAGED: "Cell damaged: its zero did not come back after a load",
    }[check.verdict]
    if check.verdict is Verdict.GOOD and check.gain is None:
        return "Zero and noise are good; the gain is unchecked."
    return f"{what}. {_capital(ADVICE[check.verdict])}."


def _gain_verdict(gain: Gain) -> str:
    if abs(gain.error) > FAR_OFF:
        return (
            "Gain moved, by so much that something else is likelier: is it the weight that was"
            " named, and does it press on the cell alone? If so, calibrate again."
        )
    return f"Gain moved beyond its doubt. {_capital(ADVICE[Verdict.GAIN_MOVED])}."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def check_lines(check: Check, unit: ForceUnit) -> list[tuple[str, str]]:
    """Write a check as a short table.

    Args:
        check: the check.
        unit: the coach's unit.

    Returns:
        Name and words of each line: zero, drift, noise, gain, after the load.
    """
    zero = _amount(check.zero_N, check.zero_u95_N, unit)
    first = "this is the first check"
    lines = [
        ("zero", f"{zero} from that of the calibration"),
        ("since last check", first if check.shift is None else _shift_words(check.shift, unit)),
        ("noise", _noise_words(check, unit)),
    ]
    if check.back is not None:
        lines.append(("after the load", _back_words(check.back, unit)))
    return lines + _gain_lines(check.gain, unit)


def trend_words(checks: Sequence[CheckRecord], unit: ForceUnit) -> str:
    """Say how zero and gain went over the checks.

    Args:
        checks: of one certificate, in order.
        unit: the coach's unit.

    Returns:
        One sentence, empty where there are too few checks.
    """
    zero, gain = zero_trend(checks), gain_trend(checks)
    if zero is None:
        return ""
    places = 1 if unit is ForceUnit.N else 2
    parts = [f"zero {from_newtons(zero.per_month, unit):+.{places}f} {unit} a month"]
    if gain is not None:
        parts.append(f"gain {100.0 * gain.per_month:+.2f} % a month")
    return f"Over {zero.checks} checks in {zero.days:.0f} days: {', '.join(parts)}."


def remarks(check: Check) -> list[str]:
    """Say what else a coach should know.

    Args:
        check: the check.

    Returns:
        Sentences, none where all is as it should be.
    """
    said = []
    if check.noise_ratio is not None and check.noise_ratio > NOISY:
        said.append(
            f"The rig is {check.noise_ratio:.1f} times as noisy as before: look for a loose"
            " wire, a motor nearby, or somebody touching it."
        )
    if check.gain is None:
        said.append("The gain is unchecked: nothing says that 50 kg is still 50 kg.")
        return said
    if check.reference.way is Way.SHUNT:
        said.append(
            "The resistor says nothing about the cell itself, only about what follows it."
        )
    largest = check.gain.terms[0]
    if not check.gain.is_same and largest.term in ("plate", "scale", "certificate"):
        said.append(
            f"Most of the doubt is the {largest.term}'s."
            " A plate from the calibration would see much smaller changes."
        )
    return said


def _amount(value_N: float, u95_N: float, unit: ForceUnit) -> str:
    value, u95 = from_newtons(value_N, unit), from_newtons(u95_N, unit)
    places = 3 if unit is ForceUnit.KG else 2
    decimals = decimals_for(u95, most=places)
    shown = rounded_up(u95, decimals)
    return f"{round(value, decimals) + 0.0:+.{decimals}f} ± {shown:.{decimals}f} {unit}"


def _shift_words(shift: Shift, unit: ForceUnit) -> str:
    limit = from_newtons(shift.limit_N, unit)
    amount = _amount(shift.value_N, shift.u95_N, unit)
    verdict = "moved" if shift.has_moved else "good"
    return f"{amount}, {verdict} ({limit:.2g} {unit} may be warmth and drift)"


def _back_words(shift: Shift, unit: ForceUnit) -> str:
    limit = from_newtons(shift.limit_N, unit)
    amount = _amount(shift.value_N, shift.u95_N, unit)
    verdict = "not back" if shift.has_moved else "back"
    return f"{amount}, {verdict} ({limit:.2g} {unit} may stay for a while)"


def _noise_words(check: Check, unit: ForceUnit) -> str:
    noise = f"{from_newtons(check.noise_N, unit):.2g} {unit} a reading (SD)"
    if check.noise_ratio is None:
        return noise
    return f"{noise}, {check.noise_ratio:.1f} times that of earlier checks"


def _gain_lines(gain: Gain | None, unit: ForceUnit) -> list[tuple[str, str]]:
    if gain is None:
        return [("gain", "unchecked")]
    decimals = decimals_for(100.0 * gain.u95, most=2)
    error, u95 = 100.0 * gain.error, rounded_up(100.0 * gain.u95, decimals)
    verdict = "moved" if gain.has_moved else "good"
    measured = from_newtons(gain.measured_N, unit)
    expected = from_newtons(gain.expected_N, unit)
    limit, seen = 100.0 * gain.limit, 100.0 * gain.seen
    return [
        (
            "gain",
            f"{round(error, decimals) + 0.0:+.{decimals}f} ± {u95:.{decimals}f} %, {verdict}",
        ),
        ("it reads", f"{measured:.2f} {unit} where {expected:.2f} {unit} was expected"),
        ("this check sees", f"changes from {seen:.2g} % on; {limit:.2g} % counts as moved"),
    ]
