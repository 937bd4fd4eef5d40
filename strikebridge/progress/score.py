"""One number a session: the mean of its best three reps.

A best of ten tries is higher by chance than a best of three. So from each session the same
number of reps is taken, the first ones, as many as the session with the fewest has.
What the reps of one certificate have in common does not shrink by averaging, and leaves any
comparison of two sessions with that certificate; `common_part` keeps account of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from operator import attrgetter
from statistics import fmean
from typing import TYPE_CHECKING

from strikebridge.progress.estimate import Estimate, joined_dof
from strikebridge.progress.rep_summary import by_session

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from strikebridge.club.selection import RepSummary
    from strikebridge.samples import MeasureValue

BEST = 3
DAY_S = 86_400.0
_number = attrgetter("number")


@dataclass(frozen=True, slots=True)
class CommonPart:
    """What a score owes to one certificate.

    Attributes:
        certificate: its id; of values without one, the session, as they share nothing else.
        u: standard uncertainty, in the unit of the score.
        dof: degrees of freedom.
    """

    certificate: str
    u: float
    dof: float


@dataclass(frozen=True, slots=True)
class Score:
    """What a session came to.

    Attributes:
        session: id of the session.
        at: when its first rep was over.
        value: mean of the best reps, in `unit`.
        unit: UCUM code.
        averaged: how many reps are in the mean.
        tries: out of how many.
        u_own: standard uncertainty of the measuring, independent from session to session.
        common: what it owes to each certificate.
    """

    session: str
    at: datetime
    value: float
    unit: str
    averaged: int
    tries: int
    u_own: float
    common: tuple[CommonPart, ...]


@dataclass(frozen=True, slots=True)
class ScoreRun:
    """The scores of like reps over the sessions, fit to be compared.

    Attributes:
        scores: oldest first.
        tries: how many reps of each session were looked at.
        cautions: what had to be left out or is weak, each a sentence.
    """

    scores: tuple[Score, ...]
    tries: int
    cautions: tuple[str, ...] = ()

    @property
    def days(self) -> tuple[float, ...]:
        """Days from the first session [d], one for each score."""
        return tuple(
            (one.at - self.scores[0].at).total_seconds() / DAY_S for one in self.scores
        )


def score_run(reps: Sequence[RepSummary]) -> ScoreRun:
    """Make one score a session of like reps.

    Args:
        reps: alike, each with a value.

    Returns:
        Scores that may be compared.

    Raises:
        ValueError: when the reps are not alike or their units differ.
    """
    likes = {id(rep.like): rep.like for rep in reps}  # as a rule all have the same one
    if len(set(likes.values())) > 1:
        raise ValueError("These reps are not alike; sort them with `by_like` first.")
    if len({rep.value.unit for rep in reps}) > 1:
        raise ValueError("These reps were measured in different units.")
    sessions = by_session(reps)
    if not sessions:
        return ScoreRun((), 0)
    full = [one for one in sessions if len(one) >= BEST]
    cautions = []
    if len(full) * 2 >= len(sessions):
        left_out = len(sessions) - len(full)
        if left_out:
            cautions.append(
                f"{left_out} of {len(sessions)} sessions had fewer than {BEST} reps and are "
                "left out of the comparison."
            )
        sessions = full
    tries = min(len(one) for one in sessions)
    if tries < BEST:
        cautions.append(
            "One rep a session is compared; averages of three say more."
            if tries == 1
            else f"Means of only {tries} reps are compared; averages of three say more."
        )
    if max(len(one) for one in sessions) > tries:
        cautions.append(
            f"Only the first {tries} reps of each session are compared, for more tries give a "
            "higher best by chance."
        )
    scores = tuple(score_of(one[:tries]) for one in sessions)
    certificates = {part.certificate for one in scores for part in one.common}
    if len(certificates) > 1:
        cautions.append(
            f"{len(certificates)} calibrations are compared; what they may differ by is in "
            "the ±."
        )
    return ScoreRun(scores, tries, tuple(cautions))


def score_of(reps: Sequence[RepSummary], best: int = BEST) -> Score:
    """Average the best reps of a session.

    Args:
        reps: of one session, alike, each with a value, at least one.
        best: how many to average.

    Returns:
        The score.
    """
    chosen = sorted(reps, key=_number, reverse=True)[:best]
    values = [rep.value for rep in chosen]
    n = len(chosen)
    sums: dict[str, float] = {}
    dofs: dict[str, float] = {}
    for rep, value in zip(chosen, values, strict=True):
        key = value.certificate or rep.session
        sums[key] = sums.get(key, 0.0) + (value.u_common or 0.0)
        dofs[key] = min(dofs.get(key, math.inf), _dof_common(value))
    return Score(
        session=reps[0].session,
        at=reps[0].at,
        value=fmean([rep.number for rep in chosen]),
        unit=reps[0].value.unit,
        averaged=n,
        tries=len(reps),
        u_own=math.hypot(*[one.u_own or 0.0 for one in values]) / n,
        common=tuple([CommonPart(key, sums[key] / n, dofs[key]) for key in sorted(sums)]),
    )


def measured(score: Score) -> Estimate:
    """Give a score with the doubt of its measuring, not with that of the athlete's day.

    Args:
        score: the score.
    """
    u_common, dof = common_part([score], [1.0])
    u = math.hypot(score.u_own, u_common)
    return Estimate(
        score.value, score.unit, u, joined_dof([(score.u_own, math.inf), (u_common, dof)])
    )


def common_part(scores: Sequence[Score], weights: Sequence[float]) -> tuple[float, float]:
    """Find what a weighted sum of scores owes to their certificates.

    *Uncertainty*: scores of one certificate shift together, so their parts add with sign;
    different certificates are independent (JCGM 100:2008, 5.2).

    Args:
        scores: the scores.
        weights: one for each, minus for what is taken away.

    Returns:
        Standard uncertainty in the unit of the scores, and its degrees of freedom.
    """
    sums: dict[str, float] = {}
    dofs: dict[str, float] = {}
    for score, weight in zip(scores, weights, strict=True):
        for part in score.common:
            key = part.certificate
            sums[key] = sums.get(key, 0.0) + weight * part.u
            dofs[key] = min(dofs.get(key, math.inf), part.dof)
    u = math.hypot(*sums.values())
    weight_4 = sum(sums[key] ** 4 / dofs[key] for key in sums)
    return u, u**4 / weight_4 if weight_4 > 0.0 else math.inf


def _dof_common(value: MeasureValue) -> float:
    """Find the degrees of freedom of the common part from those of the whole value."""
    u_own, u_common = value.u_own or 0.0, value.u_common or 0.0
    if u_common == 0.0 or math.isinf(value.dof):
        return math.inf
    return max(1.0, value.dof * (u_common / math.hypot(u_own, u_common)) ** 4)
