"""A plate walk as it was done, and what it is worth: the curve, and where its doubt comes from.

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
from dataclasses import dataclass
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from strikebridge.calibration.budget import (
    combined_u,
    coverage_factor,
    largest_first,
    rectangular_u,
    step_u,
)
from strikebridge.calibration.certificate import CREEP, BudgetTerm

if TYPE_CHECKING:
    from strikebridge.calibration.certificate import PlateRecord
    from strikebridge.calibration.fit import Fit
    from strikebridge.calibration.gravity import Gravity
    from strikebridge.calibration.plates import JointFit, Source, Steps
    from strikebridge.calibration.suspects import Suspect
    from strikebridge.samples import Floats

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
            BudgetTerm(CREEP, creep_N, shape="rectangular"),
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
