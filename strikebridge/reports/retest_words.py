"""The report on the club's own repeats, in words and as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.progress.retest import Icc
from strikebridge.reports.analysis_json import number
from strikebridge.reports.progress_words import day_words, setup_words
from strikebridge.units import ForceUnit, decimals_for, from_newtons

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.records import Camp
    from strikebridge.reports.analysis_json import Json
    from strikebridge.retesting import Retested

NEWTONS = "N"
SHOWN = {
    Icc.RANDOM: "how well one test tells athletes apart, whichever day it is",
    Icc.FIXED: "the same, once everybody's learning is taken off",
    Icc.RANDOM_MEAN: "the same for the mean of all tests",
}


def retest_document(found: Retested, names: Mapping[str, str]) -> dict[str, Json]:
    """Write the report as plain values.

    Args:
        found: the report.
        names: id of an athlete -> name.
    """
    report, squares, bland = found.report, found.report.squares, found.agreement
    low, high = bland.limits
    return {
        "exercise": found.like.exercise,
        "setup": found.like.setup,
        "unit": found.unit,
        "athletes": [names[one] for one in found.table.athletes],
        "tests": [list(row) for row in found.table.values],
        "left_out": {names[one]: why for one, why in found.table.left_out.items()},
        "mean_squares": {
            "between": number(squares.between),
            "within": number(squares.within),
            "trials": number(squares.trials),
            "error": number(squares.error),
        },
        "icc": {
            key.value: {
                "value": number(one.value),
                "low": number(one.low),
                "high": number(one.high),
            }
            for key, one in report.correlations.items()
        },
        "typical_error": number(report.typical_error),
        "typical_error_95": [number(one) for one in report.typical_error_95],
        "typical_error_percent": number(report.typical_error_percent),
        "least_real_change": number(report.least_real_change),
        "minimal_difference": number(report.minimal_difference),
        "shifts": [number(one) for one in report.shifts],
        "bland_altman": {
            "bias": number(bland.bias),
            "bias_95": [number(one) for one in bland.interval(bland.bias, bland.u_bias)],
            "sd": number(bland.sd),
            "limits": [number(low), number(high)],
        },
        "cautions": list(found.cautions),
    }


def retest_lines(
    found: Retested,
    camp: Camp,
    exercises: Mapping[str, str],
    names: Mapping[str, str],
    unit: ForceUnit,
) -> list[str]:
    """Write the report in words.

    Args:
        found: the report.
        camp: what it was made of, for the set-ups.
        exercises: key -> name.
        names: id of an athlete -> name.
        unit: the coach's unit.
    """
    report, bland, table = found.report, found.agreement, found.table
    name = unit.value if found.unit == NEWTONS else found.unit

    def shown(value: float, *, is_signed: bool = False) -> str:
        size = from_newtons(value, unit) if found.unit == NEWTONS else value
        spread = report.typical_error / 5.0
        fine = from_newtons(spread, unit) if found.unit == NEWTONS else spread
        decimals = decimals_for(fine)
        return f"{round(size, decimals) + 0.0:{'+' if is_signed else ''}.{decimals}f}"

    exercise = exercises.get(found.like.exercise, found.like.exercise)
    days = ""
    if table.first_at is not None and table.last_at is not None:
        days = f", {day_words(table.first_at)} to {day_words(table.last_at)}"
    error = [shown(one) for one in report.typical_error_95]
    low, high = bland.limits
    bias = bland.interval(bland.bias, bland.u_bias)
    lines = [
        f"{exercise}, {len(table.athletes)} athletes, {len(table.values[0])} tests each{days}",
        setup_words(found.like.setup, camp.setups),
    ]
    for key, words in SHOWN.items():
        icc = report.correlations[key]
        lines.append(
            f"  {key.value}  {icc.value:.2f} ({icc.low:.2f} to {icc.high:.2f}): {words}"
        )
    lines.append(
        f"  typical error  {shown(report.typical_error)} {name} ({error[0]} to {error[1]}), "
        f"{report.typical_error_percent:.1f} %: what one test varies by"
    )
    lines.append(
        f"  least real change  {shown(report.least_real_change)} {name}, one test against one; "
        "anything less may be chance"
    )
    lines.append(
        f"  last test - first  {shown(bland.bias, is_signed=True)} {name} "
        f"({shown(bias[0], is_signed=True)} to {shown(bias[1], is_signed=True)}); 95 % of "
        f"athletes {shown(low, is_signed=True)} to {shown(high, is_signed=True)} {name}"
    )
    lines.append(
        f"  for science  the least real change is from t with {report.squares.dof_error} "
        f"degrees of freedom; with 1.96 in its place {shown(report.minimal_difference)} {name}"
    )
    lines += [f"  Mind: {caution}" for caution in found.cautions]
    lines += [
        f"  Left out: {names[who]}, {why}." for who, why in sorted(table.left_out.items())
    ]
    return lines
