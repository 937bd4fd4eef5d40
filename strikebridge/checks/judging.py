"""From a few levels to a verdict: has the zero moved, has the gain moved, is the cell bent?

Each question compares a difference with what it may be when nothing has happened.

- **Gain**: e = measured / expected - 1, moved where |e| > k99 u(e). u(e) holds what the
  certificate and the reference do not share (`expected.py`), the doubt of both levels, and
  creep. k99 comes from `calibration/budget.py`: the chance of a false alarm is about 1 %. The
  ± shown beside e is the usual one, 95 %. A true change is seen 19 times in 20 from
  k99 u + 1.645 u on; that is said as well, because a check with a doubtful plate sees little.
- **Zero**: against the last check on the same certificate, since hanging up the rig moves the
  zero by the weight of its pad. It is tracked in use, so a small shift does no harm; from 1 %
  of the rated load on something has happened (our own limit; common practice, no source).
- **Damage**: the zero after the load against the zero before it. A sound cell comes back to
  within its creep; one that was bent does not. After an overload a zero that has moved since
  the check before it counts as damage too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.budget import (
    combined_u,
    coverage_factor,
    effective_dof,
    largest_first,
    rectangular_u,
    t_factor,
)
from strikebridge.calibration.certificate import BudgetTerm
from strikebridge.checks.expected import UNCHECKED, Expected, Reference, expect, force_of
from strikebridge.checks.history import Verdict, Way

if TYPE_CHECKING:
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.checks.history import CheckRecord
    from strikebridge.checks.level import Level

ALARM = 0.99
"""Share of checks of a sound rig that raise no alarm."""
SEEN_95 = 1.6448536269514722
"""Quantile of the normal distribution for 0.95, one side (mathematical constant)."""
CREEP = 0.001
"""Half-width of creep and warmth between calibration and check, share of the load (cheap cells:
0.03 to 0.1 %; value from memory)."""
ZERO_LIMIT = 0.01
"""Shift of the zero, share of the rated load, from which something has happened."""
BACK_LIMIT = 0.005
"""Share of the load that a sound cell may keep for some seconds after it (common practice, no
source)."""
FAR_OFF = 0.25
"""An error of the gain so large is another weight than was said, or another cell."""
NOISY = 2.0
"""Ratio of the noise to that of earlier checks from which it is said."""


@dataclass(frozen=True, slots=True)
class Levels:
    """What was seen during a check.

    Attributes:
        zero: the untouched rig, before.
        loaded: with the reference, None without one.
        back: the untouched rig once more, None without a reference.
    """

    zero: Level
    loaded: Level | None = None
    back: Level | None = None


@dataclass(frozen=True, slots=True)
class Past:
    """What earlier checks on the same certificate say.

    Attributes:
        zero: zero of the last check that found the cell sound; empty without one.
        u_zero: standard uncertainty of each.
        noise_N: median of the noise [N], None without a check.
        is_after_overload: True where an overload asks for this check.
    """

    zero: tuple[float, ...] = ()
    u_zero: tuple[float, ...] = ()
    noise_N: float | None = None
    is_after_overload: bool = False


@dataclass(frozen=True, slots=True)
class Shift:
    """A difference that ought to be nothing.

    Attributes:
        value_N: the difference [N].
        u95_N: its expanded uncertainty [N].
        limit_N: from here on it counts as moved [N].
    """

    value_N: float
    u95_N: float
    limit_N: float

    @property
    def has_moved(self) -> bool:
        """Say whether it is more than it may be."""
        return abs(self.value_N) > self.limit_N


@dataclass(frozen=True, slots=True)
class Gain:
    """The gain against that of the certificate.

    Attributes:
        measured_N: what the certificate makes of the reference [N].
        expected_N: what it ought to be [N].
        error: measured / expected - 1.
        u95: expanded uncertainty of the error.
        limit: from here on the gain counts as moved.
        seen: least change that is seen 19 times in 20.
        terms: where the doubt comes from, largest first [N].
        is_same: True where the plates are those of the calibration, so that theirs cancelled.
    """

    measured_N: float
    expected_N: float
    error: float
    u95: float
    limit: float
    seen: float
    terms: tuple[BudgetTerm, ...]
    is_same: bool

    @property
    def has_moved(self) -> bool:
        """Say whether the gain is off by more than it may be."""
        return abs(self.error) > self.limit


@dataclass(frozen=True, slots=True)
class Check:
    """A finished check.

    Attributes:
        verdict: how it ended.
        certificate: id of the certificate.
        reference: what the gain was checked with.
        levels: what was seen.
        zero_N: zero now, above that of the certificate [N].
        zero_u95_N: its expanded uncertainty [N].
        noise_N: SD of a single reading at rest, cells added [N].
        noise_ratio: that over the noise of earlier checks, None without one.
        shift: zero since the last check, None for the first.
        back: zero after the load less zero before it, None without a load.
        gain: None where the gain is unchecked.
    """

    verdict: Verdict
    certificate: str
    reference: Reference
    levels: Levels
    zero_N: float
    zero_u95_N: float
    noise_N: float
    noise_ratio: float | None
    shift: Shift | None
    back: Shift | None
    gain: Gain | None


def past_of(
    certificate: Certificate, checks: tuple[CheckRecord, ...], *, is_after_overload: bool
) -> Past:
    """Sum up earlier checks.

    Args:
        certificate: in use.
        checks: earlier ones on this certificate, in order.
        is_after_overload: True where an overload asks for this check.

    Returns:
        What this check is compared with.
    """
    sound = [
        check
        for check in checks
        if check.verdict is not Verdict.CELL_DAMAGED
        and len(check.zero) == len(check.u_zero) == len(certificate.cells)
    ]
    noises = [check.noise_N for check in sound]
    past = Past(
        noise_N=float(np.median(noises)) if noises else None,
        is_after_overload=is_after_overload,
    )
    return replace(past, zero=sound[-1].zero, u_zero=sound[-1].u_zero) if sound else past


def judge_check(
    certificate: Certificate,
    levels: Levels,
    reference: Reference = UNCHECKED,
    past: Past | None = None,
) -> Check:
    """Judge a check.

    Args:
        certificate: what it is judged against.
        levels: what was seen.
        reference: what was put on.
        past: earlier checks; None for the first.

    Returns:
        The check with its verdict.

    Raises:
        CalibrationError: the levels are of another number of cells than the certificate.
    """
    past = past or Past()
    calibration = Calibration.from_certificate(certificate)
    zero_N = force_of(calibration, levels.zero.reading)[0]
    noise_N = _through_slopes(certificate, levels.zero.noise)
    shift = _shift(certificate, levels.zero, past)
    back = _back(certificate, levels, reference)
    gain = _gain(certificate, calibration, levels, reference)
    is_bent = back is not None and back.has_moved
    is_shifted = shift is not None and shift.has_moved
    verdict = Verdict.GOOD
    if is_bent or (is_shifted and past.is_after_overload):
        verdict = Verdict.CELL_DAMAGED
    elif gain is not None and gain.has_moved:
        verdict = Verdict.GAIN_MOVED
    elif is_shifted:
        verdict = Verdict.ZERO_MOVED
    return Check(
        verdict=verdict,
        certificate=certificate.id,
        reference=reference,
        levels=levels,
        zero_N=zero_N,
        zero_u95_N=t_factor(levels.zero.dof) * _through_slopes(certificate, levels.zero.u),
        noise_N=noise_N,
        noise_ratio=noise_N / past.noise_N if past.noise_N else None,
        shift=shift,
        back=back,
        gain=gain,
    )


def full_N(certificate: Certificate) -> float:
    """Say what counts as the whole of a rig [N].

    Args:
        certificate: of the rig.

    Returns:
        The ratings of its cells added up; where none is known, the largest calibrated load.
    """
    if certificate.rating_N is not None:
        return certificate.rating_N * len(certificate.cells)
    return max(map(abs, certificate.range_N))


def _through_slopes(certificate: Certificate, values: tuple[float, ...]) -> float:
    """Add what is independent from cell to cell, in newtons."""
    slopes = [cell.coefficients[1] for cell in certificate.cells]
    return math.hypot(*(value / slope for value, slope in zip(values, slopes, strict=True)))


def _difference_N(
    certificate: Certificate, now: tuple[float, ...], then: tuple[float, ...]
) -> float:
    slopes = [cell.coefficients[1] for cell in certificate.cells]
    return math.fsum((a - b) / slope for a, b, slope in zip(now, then, slopes, strict=True))


def _level_terms(certificate: Certificate, levels: tuple[Level, Level]) -> list[BudgetTerm]:
    names = ("mean before", "mean after")
    return [
        BudgetTerm(name, _through_slopes(certificate, level.u), dof=float(level.dof))
        for name, level in zip(names, levels, strict=True)
    ]


def _shift(certificate: Certificate, zero: Level, past: Past) -> Shift | None:
    if not past.zero:
        return None
    slopes = [cell.coefficients[1] for cell in certificate.cells]
    moved_N = sum(
        (now - then) / slope
        for now, then, slope in zip(zero.reading, past.zero, slopes, strict=True)
    )
    terms = [
        BudgetTerm("zero now", _through_slopes(certificate, zero.u), dof=float(zero.dof)),
        BudgetTerm("zero then", _through_slopes(certificate, past.u_zero)),
    ]
    return _judged(moved_N, terms, ZERO_LIMIT * full_N(certificate))


def _back(certificate: Certificate, levels: Levels, reference: Reference) -> Shift | None:
    if levels.back is None or reference.way is Way.NONE:
        return None
    before, after = levels.zero, levels.back
    moved_N = _difference_N(certificate, after.reading, before.reading)
    terms = _level_terms(certificate, (before, after))
    # a light load must not make a judge of noise and drift: a tenth of the whole at least
    least_N = BACK_LIMIT * max(reference.load_N, 0.1 * full_N(certificate))
    return _judged(moved_N, terms, least_N)


def _judged(value_N: float, terms: list[BudgetTerm], least_N: float) -> Shift:
    u_N, dof = combined_u(terms), effective_dof(terms)
    return Shift(value_N, t_factor(dof) * u_N, max(least_N, t_factor(dof, ALARM) * u_N))


def _gain(
    certificate: Certificate, calibration: Calibration, levels: Levels, reference: Reference
) -> Gain | None:
    if levels.loaded is None or reference.way is Way.NONE:
        return None
    loaded_N, _ = force_of(calibration, levels.loaded.reading)
    measured_N = loaded_N - force_of(calibration, levels.zero.reading)[0]
    expected = expect(certificate, reference)
    terms = [
        *expected.terms,
        *_level_terms(certificate, (levels.zero, levels.loaded)),
        BudgetTerm(
            "creep and warmth", rectangular_u(CREEP * reference.load_N), shape="rectangular"
        ),
    ]
    return _judged_gain(measured_N, expected, terms)


def _judged_gain(measured_N: float, expected: Expected, terms: list[BudgetTerm]) -> Gain:
    u = combined_u(terms) / expected.force_N
    limit = coverage_factor(terms, ALARM) * u
    return Gain(
        measured_N=measured_N,
        expected_N=expected.force_N,
        error=measured_N / expected.force_N - 1.0,
        u95=coverage_factor(terms) * u,
        limit=limit,
        seen=limit + SEEN_95 * u,
        terms=largest_first(terms),
        is_same=expected.is_same,
    )
