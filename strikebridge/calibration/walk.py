"""A finished plate walk: the curve, and where its doubt comes from.

What the walk is worth at a force F is a list of terms (JCGM 100:2008), each in newtons:

- readings: the scatter of the steps, through the fit and once more for the reading in hand;
- plates: each source of `plates.py`, rectangular;
- gravity: a share of the load, where plates made the load;
- resolution: the step of the reading;
- lack of fit: a bend that the chosen degree leaves out. Its size comes from fitting one power
  more, together with what a cheap cell may hide (`HIDDEN_BEND`) where the walk cannot tell; no
  less than what the residuals hold beyond scatter and plates;
- hysteresis: loading and unloading read differently; the curve runs between them, a force is
  on one side or the other: two values, whose standard deviation is half their distance;
- creep: a walk reads its loads later than a hold does; what the walk shows of it or what is
  known of cheap cells, whichever is more (`creep.py`), rectangular.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from strikebridge.calibration.apply import HIDDEN_BEND
from strikebridge.calibration.budget import (
    combined_u,
    coverage_factor,
    largest_first,
    rectangular_u,
    step_u,
)
from strikebridge.calibration.certificate import BudgetTerm
from strikebridge.calibration.creep import likely_share
from strikebridge.calibration.fit import (
    LOADS_FOR_A_CURVE,
    REFUSED_P,
    Fit,
    bend_p,
    check_enough,
    choose_degree,
    fit_curve,
)
from strikebridge.calibration.plates import (
    JointFit,
    Source,
    Steps,
    fit_jointly,
    hysteresis_column,
    lies_on,
    plate_sources,
    step_scatter,
)
from strikebridge.calibration.suspects import (
    Suspect,
    compare_plates,
    confounded,
    disagreeing_pair,
    step_warning,
    suspect_plates,
    suspect_points,
)
from strikebridge.errors import CalibrationError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import PlateRecord
    from strikebridge.calibration.gravity import Gravity
    from strikebridge.samples import Floats

LEAST_R_SQUARED = 0.5
"""Below it the line says nothing about the load (a live cell has 0.999)."""
MOSTLY_PLATES = (
    "The plates, not the cell, are most of the doubt: weigh them on a trade scale, or use"
    " competition plates."
)
LEAST_HYSTERESIS_SHAPE = 0.25
"""Share of its widest opening that a hysteresis loop keeps at its ends, where a hold that did
not begin at zero may still lie inside it."""


@dataclass(frozen=True, slots=True, eq=False)
class WalkInput:
    """A walk as it was done.

    Attributes:
        steps: the steps of one cell.
        plates: the plates, none where only loads are known.
        gravity: local gravity where plates made the loads, None where loads came in newtons.
        common: errors of the loads that are known without their plates.
        step: smallest step of the reading, 0 if unknown.
        creep: what readings still moved under a load that stayed, as a share of that load.
        beyond_hold_N: how much longer each step has crept than a hold (`creep.py`) [N],
            shape (n,); None where the loads did not come from plates put on by hand.
    """

    steps: Steps
    plates: tuple[PlateRecord, ...] = ()
    gravity: Gravity | None = None
    common: tuple[Source, ...] = ()
    step: float = 0.0
    creep: float = 0.0
    beyond_hold_N: Floats | None = None

    @property
    def longer_N(self) -> Floats:
        """How much longer each step has crept than a hold, 0 where nothing is known of it."""
        beyond_N = self.beyond_hold_N
        return np.zeros(len(self.steps)) if beyond_N is None else beyond_N


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """What a walk found out.

    Attributes:
        fit: the curve, reading as a function of load.
        joint: the same in newtons, with the plates.
        sources: errors that recur, as `joint` knows them.
        top_N: largest load [N].
        range_N: smallest and largest load [N].
        scatter_N: SD of a step [N].
        dof: its degrees of freedom.
        bend_N: what one power more would add at the largest load, root mean square [N].
        next_joint: change of beta per newton of such a bend.
        excess_N: SD of the residuals beyond what scatter and plates explain [N].
        hysteresis_N: half the widest opening of the loop [N]; 0 where the walk went one way.
        u_gravity: relative standard uncertainty of gravity.
        step_N: smallest step of the reading [N].
        creep: what readings still moved under a load, as a share of that load.
        from_creep: change of beta by a creep of the whole load, shape (q,).
        likely_creep: root mean square of that creep, share of the load.
        suspects: what does not fit.
        warnings: sentences for the coach.
    """

    fit: Fit
    joint: JointFit
    sources: tuple[Source, ...]
    top_N: float
    range_N: tuple[float, float]
    scatter_N: float
    dof: int
    bend_N: float
    next_joint: Floats
    excess_N: float
    hysteresis_N: float
    u_gravity: float
    step_N: float
    creep: float
    from_creep: Floats
    likely_creep: float
    suspects: tuple[Suspect, ...] = ()
    warnings: tuple[str, ...] = ()

    def terms_at(self, force_N: float, *, above_zero: bool = False) -> list[BudgetTerm]:
        """List every doubt of a force.

        Args:
            force_N: the force [N].
            above_zero: True leaves out the doubt of the zero, which is tracked in use.

        Returns:
            The terms, one for each source.
        """
        x = force_N / self.top_N
        q = len(self.joint.beta)
        powers = x ** np.arange(q)
        if above_zero:
            powers[0] = 0.0
        orders = np.arange(1, q)
        slope = float((orders * x ** (orders - 1.0)) @ self.joint.beta[1:]) / self.top_N
        through_fit = float(powers @ self.joint.from_readings @ powers)
        readings_N = self.scatter_N * math.sqrt(max(through_fit, 0.0) + 1.0) / slope
        creep_N = max(
            rectangular_u(abs(force_N) * self.creep),
            self.likely_creep * abs(float(powers @ self.from_creep)) / slope,
        )
        terms = [
            BudgetTerm("readings", readings_N, shape="normal", dof=float(self.dof)),
            BudgetTerm("gravity", abs(force_N) * self.u_gravity),
            BudgetTerm("resolution", step_u(self.step_N) / slope),
            BudgetTerm("lack of fit", self._shape_N(x) / slope),
            BudgetTerm("hysteresis", self._hysteresis_N(x) / slope),
            BudgetTerm("creep", creep_N, shape="rectangular"),
        ]
        for source, change in zip(self.sources, self.joint.from_sources, strict=True):
            half_N = abs(float(powers @ change)) / slope
            terms.append(BudgetTerm(source.name, rectangular_u(half_N), shape="rectangular"))
        return terms

    def at(self, reading: float) -> tuple[float, float, float]:
        """Turn a reading into a force.

        Args:
            reading: the reading.

        Returns:
            Force [N], its standard uncertainty [N], coverage factor for 95 %.
        """
        force_N = self.fit.invert(reading)
        terms = self.terms_at(force_N)
        return force_N, combined_u(terms), coverage_factor(terms)

    def budget(self) -> tuple[BudgetTerm, ...]:
        """Show where the doubt at the largest load comes from, largest first.

        Returns:
            The terms; several sources of plates are shown as one.
        """
        terms = self.terms_at(self.top_N)
        names = {source.name for source in self.sources}
        plates = [term for term in terms if term.term in names]
        shape = plates[0].shape if len(plates) == 1 else "normal"
        shown = [BudgetTerm("plates", combined_u(plates), shape=shape)]
        for term in terms:
            if term.term == "readings":
                shown += self._two_parts(term)
            elif term.term == "resolution":
                shown.append(msgspec.structs.replace(term, common=False))
            elif term.term not in names:
                shown.append(term)
        return largest_first(shown)

    def _two_parts(self, readings: BudgetTerm) -> list[BudgetTerm]:
        # what went into the fit is in every force; the reading in hand is new each time
        ones = np.ones(len(self.joint.beta))
        through_fit = max(float(ones @ self.joint.from_readings @ ones), 0.0)
        share = math.sqrt(through_fit / (through_fit + 1.0))
        rest = math.sqrt(1.0 / (through_fit + 1.0))
        return [
            msgspec.structs.replace(readings, u_N=readings.u_N * share),
            msgspec.structs.replace(
                readings, term="one reading", u_N=readings.u_N * rest, common=False
            ),
        ]

    def _shape_N(self, x: float) -> float:
        # departure of x^(degree+1) from the fitted curve; inside the range at least its RMS,
        # because the true shape need not be that power
        order = len(self.joint.beta)
        grid = np.linspace(self.range_N[0] / self.top_N, 1.0, 101)
        inside = grid**order - grid[:, np.newaxis] ** np.arange(order) @ self.next_joint
        here = abs(float(x**order - x ** np.arange(order) @ self.next_joint))
        least = math.sqrt(float(np.mean(inside**2)))
        return max(self.bend_N * max(here, least), self.excess_N)

    def _hysteresis_N(self, x: float) -> float:
        loop = max(4.0 * x * (1.0 - x), LEAST_HYSTERESIS_SHAPE)
        return self.hysteresis_N * loop


def analyse_walk(walk: WalkInput, degree: int | None = None) -> Walk:
    """Fit a walk, compare its plates and draw up its budget.

    Args:
        walk: the walk.
        degree: 1 or 2, None to let the points decide.

    Returns:
        What it found out.

    Raises:
        CalibrationError: too few points or loads, or readings that do not follow the loads.
    """
    steps = walk.steps
    check_enough(steps.load_N, degree or 1)
    first = fit_curve(steps.load_N, steps.reading, 1)
    if not first.r_squared > LEAST_R_SQUARED:
        msg = (
            f"The readings do not follow the loads (R squared {first.r_squared:.2f})."
            " Check the wiring, and that the plates hang on the cell alone."
        )
        raise CalibrationError(msg)
    # one newton a newton from here on: plates and scatter are then in newtons
    z_N = (steps.reading - first.coefficients[0]) / first.coefficients[1]
    floor_N = max(
        step_u(walk.step) / abs(float(first.coefficients[1])),
        1e-9 * float(np.max(np.abs(steps.load_N))),
    )
    suspects, warnings, plates = _judge_plates(walk, z_N, floor_N)
    sources = list(walk.common)
    if walk.gravity is not None:
        sources += plate_sources(steps, plates, walk.gravity.value_m_per_s2)
    chosen = degree or _choose(walk, z_N, sources, floor_N)
    plain = fit_curve(steps.load_N, steps.reading, chosen)
    scatter_N, dof = step_scatter(steps, plates, z_N, chosen)
    scatter_N = max(scatter_N, floor_N)
    joint = fit_jointly(steps.load_N, z_N, sources, chosen, scatter_N)
    fit = _with_plates(plain, first, joint, steps, (scatter_N, dof)) if plates else plain
    if fit.slope(0.0) * fit.slope(float(np.max(steps.load_N))) <= 0.0:
        msg = (
            "The fitted curve turns back within the loads, so a reading would mean two forces."
            " Fit a straight line (degree 1), or look at the points again."
        )
        raise CalibrationError(msg)
    bend_N, next_joint = _bend(steps, z_N, sources, joint, scatter_N)
    result = Walk(
        fit=fit,
        joint=joint,
        sources=tuple(sources),
        top_N=float(np.max(np.abs(steps.load_N))),
        range_N=(float(np.min(steps.load_N)), float(np.max(steps.load_N))),
        scatter_N=scatter_N,
        dof=dof,
        bend_N=bend_N,
        next_joint=next_joint,
        excess_N=_excess_N(steps, z_N, joint, sources, scatter_N),
        hysteresis_N=_half_loop_N(steps, plates, z_N),
        u_gravity=walk.gravity.u_relative if walk.gravity is not None else 0.0,
        step_N=walk.step / abs(float(first.coefficients[1])),
        creep=walk.creep,
        from_creep=joint.weights @ walk.longer_N,
        likely_creep=likely_share(steps, plates, z_N, walk.longer_N),
        suspects=tuple(suspects),
    )
    return replace(result, warnings=(*warnings, *_remarks(walk, result)))


def _judge_plates(
    walk: WalkInput, z_N: Floats, floor_N: float
) -> tuple[list[Suspect], list[str], tuple[PlateRecord, ...]]:
    plates = list(walk.plates)
    suspects: list[Suspect] = []
    warnings: list[str] = []
    if len(plates) > 1:
        scatter_N = max(step_scatter(walk.steps, plates, z_N, 1)[0], floor_N)
        errors, covariance = compare_plates(walk.steps, plates, z_N, scatter_N)
        for one, other in confounded(plates, covariance):
            warnings.append(
                f"Plates {one} and {other} cannot be told apart:"
                f" lift {one} once more without {other}."
            )
        difference = disagreeing_pair(plates, errors, covariance)
        if difference is not None:
            warnings.append(
                f"Plates {plates[0].name} and {plates[1].name} contradict each other by"
                f" {abs(difference) * 100:.1f} %; a third plate would show which one is wrong."
            )
        kept = list(range(len(plates)))
        while found := suspect_plates(
            [plates[i] for i in kept], errors[kept], covariance[np.ix_(kept, kept)]
        ):
            suspects += found
            kept = [i for i in kept if plates[i].name != found[0].name]
    if not suspects:
        suspects = suspect_points(walk.steps, walk.plates, z_N)
    warnings += [step_warning(suspect) for suspect in suspects]
    widened = [_widened(plate, suspects) for plate in plates]
    return suspects, warnings, tuple(widened)


def _widened(plate: PlateRecord, suspects: Sequence[Suspect]) -> PlateRecord:
    # what a plate was caught at counts as its tolerance, and as nobody else's
    for suspect in suspects:
        if suspect.kind == "plate" and suspect.name == plate.name:
            tolerance_kg = max(plate.tolerance_kg, abs(suspect.off_kg))
            return msgspec.structs.replace(plate, tolerance_kg=tolerance_kg, make="")
    return plate


def _choose(walk: WalkInput, z_N: Floats, sources: Sequence[Source], floor_N: float) -> int:
    load_N = walk.steps.load_N
    if choose_degree(load_N, z_N) == 1 or not walk.plates:
        return choose_degree(load_N, z_N)
    # the bend must also be more than the plates can feign
    scatter_N, dof = step_scatter(walk.steps, walk.plates, z_N, 2)
    scatter_N = max(scatter_N, floor_N)
    joint = fit_jointly(load_N, z_N, sources, 2, scatter_N)
    bend = fit_curve(load_N, z_N, 2)
    seen = replace(
        bend, coefficients=joint.beta, covariance=_covariance(joint, scatter_N), dof=dof
    )
    return 2 if bend_p(seen) < REFUSED_P else 1


def _covariance(joint: JointFit, scatter_N: float) -> Floats:
    from_plates = joint.from_sources.T @ joint.from_sources / 3.0
    whole: Floats = scatter_N**2 * joint.from_readings + from_plates
    return whole


def _with_plates(
    plain: Fit, first: Fit, joint: JointFit, steps: Steps, scatter: tuple[float, int]
) -> Fit:
    # the joint fit in the units of the reading; R squared and lack of fit are the plain one's
    scatter_N, dof = scatter
    degree = plain.degree
    c0, c1 = first.coefficients
    back = float(np.max(np.abs(steps.load_N))) ** -np.arange(degree + 1.0)
    coefficients = joint.beta * c1 * back
    coefficients[0] += c0
    powers = steps.load_N[:, np.newaxis] ** np.arange(degree + 1)
    return replace(
        plain,
        coefficients=coefficients,
        covariance=joint.from_readings * (scatter_N * c1) ** 2 * np.outer(back, back),
        residual_sd=scatter_N * abs(float(c1)),
        dof=dof,
        residuals=steps.reading - powers @ coefficients,
    )


def _bend(
    steps: Steps, z_N: Floats, sources: Sequence[Source], joint: JointFit, scatter_N: float
) -> tuple[float, Floats]:
    top_N = float(np.max(np.abs(steps.load_N)))
    order = len(joint.beta)
    column = (steps.load_N / top_N) ** order
    # a parabola b x^2 leaves its chord by b / 4; what may hide is rectangular
    hidden_N = rectangular_u(4.0 * HIDDEN_BEND * top_N)
    change: Floats = joint.weights @ column
    if len(np.unique(steps.load_N)) < order + 1:
        return hidden_N, change
    more = fit_jointly(steps.load_N, z_N, sources, order, scatter_N)
    size_N = float(more.beta[order])
    u_N = math.sqrt(_covariance(more, scatter_N)[order, order])
    if abs(size_N) > 2.5 * math.hypot(hidden_N, u_N):
        return math.hypot(size_N, u_N), change
    # the walk and what is known of cheap cells, weighed by their variances
    trust = hidden_N**2 / (hidden_N**2 + u_N**2)
    return math.hypot(trust * size_N, math.sqrt(trust) * u_N), change


def _excess_N(
    steps: Steps, z_N: Floats, joint: JointFit, sources: Sequence[Source], scatter_N: float
) -> float:
    n, q = len(steps), len(joint.beta)
    loop = hysteresis_column(steps)
    dof = n - q - loop.shape[1]
    if dof <= 0:
        return 0.0
    x = steps.load_N / float(np.max(np.abs(steps.load_N)))
    # what the curve and the loop of hysteresis leave
    leave = np.eye(n) - x[:, np.newaxis] ** np.arange(q) @ joint.weights
    left = leave @ loop
    leave -= left @ np.linalg.pinv(left) @ leave
    # by moments, in the directions that the plates leave sharp: chi squared less its
    # expectation, over what a unit of excess variance would add to it
    effects = np.array([one.effect_N for one in sources]).reshape(len(sources), n)
    sharp = np.linalg.inv(scatter_N**2 * np.eye(n) + effects.T @ effects / 3.0)
    residual = leave @ z_N
    more = float(residual @ sharp @ residual) - dof
    return math.sqrt(max(more, 0.0) / float(np.trace(leave.T @ sharp @ leave)))


def _half_loop_N(steps: Steps, plates: Sequence[PlateRecord], z_N: Floats) -> float:
    loop = hysteresis_column(steps)
    if loop.shape[1] == 0:
        return 0.0
    x = steps.load_N / float(np.max(np.abs(steps.load_N)))
    columns = np.hstack([loop, x[:, np.newaxis] ** np.arange(3), lies_on(steps, plates)])
    return abs(float((np.linalg.pinv(columns, rcond=1e-10) @ z_N)[0]))


def _remarks(walk: WalkInput, result: Walk) -> list[str]:
    remarks = []
    lack = result.fit.lack_of_fit
    if lack is not None and lack.p < REFUSED_P and not walk.plates:
        few = len(np.unique(walk.steps.load_N)) < LOADS_FOR_A_CURVE
        advice = "Use at least six different loads." if few else "Look at the points again."
        remarks.append(
            f"The curve of degree {result.fit.degree} does not follow the points"
            f" (lack of fit F = {lack.F:.3g}, chance {lack.p:.2g}). {advice}"
        )
    if walk.gravity is not None and not result.sources:
        remarks.append(
            "No tolerance was given: the plates count as exact, and their doubt is missing in"
            " every plus-minus. Add the column tolerance_kg."
        )
    if walk.common:
        remarks.append(
            "Which plates lay on the cell was not said, so their errors count as one that is"
            " common to all steps. The column plates would tell them apart."
        )
    terms = result.budget()
    if terms and terms[0].term == "plates" and terms[0].u_N > 0.005 * result.top_N:
        remarks.append(MOSTLY_PLATES)
    return remarks
