"""What a cue did, told apart from what chance does after a poor rep.

A coach cues after a poor rep, and the rep after a poor one is better by chance (regression to
the mean). So cued reps are compared with the same athlete's uncued reps that followed a rep of
like standing. All pairs of following reps of all sessions go into one least-squares fit

    second = level of its session + b x first + c x place in the session + effect x cued

Each session has a level of its own, because an athlete has good and bad days. The first rep in
the fit does two things: it takes off what usually follows a rep of that standing, and also what
creeps in because a poor rep pulls down the level that the next one is compared with. The place
takes off tiring; it enters once there are pairs enough for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.progress.estimate import MARGIN, Estimate, Word
from strikebridge.progress.rep_summary import by_session

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.club.selection import RepSummary

FEWEST_PAIRS = 3  # cued, and uncued of like standing
FEWEST_DOF = 3
PAIRS_FOR_PLACE = 12  # of both kinds, before tiring is fitted as well


@dataclass(frozen=True, slots=True)
class Pair:
    """Two following reps of a session.

    Attributes:
        session: number of the session, from 0.
        first: the first rep, in the unit of the reps.
        second: the second.
        standing: first - mean of the uncued reps of that session.
        place: place of the second in the session.
        is_cued: True where the cue was given between the two.
    """

    session: int
    first: float
    second: float
    standing: float
    place: int
    is_cued: bool


@dataclass(frozen=True, slots=True)
class CueEffect:
    """What is known of one cue for one athlete.

    Attributes:
        cue: the cue.
        cued: how many cued pairs.
        alike: how many uncued pairs of like standing.
        plain_change: mean of second - first rep of the cued pairs, chance not taken off, in
            the unit of the reps; None without any.
        effect: what the cue added, with its interval; None where there are too few pairs.
        reason: why there is no verdict; empty where there is one.
    """

    cue: str
    cued: int
    alike: int
    plain_change: float | None
    effect: Estimate | None
    reason: str = ""

    @property
    def word(self) -> Word:
        """Real, likely or cannot tell."""
        return Word.CANNOT_TELL if self.effect is None else self.effect.word


def cue_effect(reps: Sequence[RepSummary], cue: str) -> CueEffect:
    """Find what a cue did to an athlete's reps.

    *Uncertainty*: that of the fitted effect, from the scatter of the reps about the fit.

    Args:
        reps: of one athlete, alike, of any number of sessions.
        cue: the cue.

    Returns:
        The effect; without a verdict from fewer than three cued pairs, or from fewer than three
        uncued ones of like standing.
    """
    pairs = pairs_of(reps, cue)
    cued = [pair for pair in pairs if pair.is_cued]
    plain = fmean(pair.second - pair.first for pair in cued) if cued else None
    alike = _alike(pairs) if cued else 0

    def no_verdict(reason: str) -> CueEffect:
        return CueEffect(cue, len(cued), alike, plain, None, reason)

    if len(cued) < FEWEST_PAIRS:
        return no_verdict(f"{len(cued)} of the {FEWEST_PAIRS} cued reps needed")
    if alike < FEWEST_PAIRS:
        return no_verdict(
            f"{alike} of the {FEWEST_PAIRS} uncued reps needed after a rep of like standing"
        )
    effect = _fit(pairs, reps[0].value.unit)
    if effect is None:
        return no_verdict("too few reps in these sessions to tell the cue from the day")
    return CueEffect(cue, len(cued), alike, plain, effect)


def pairs_of(reps: Sequence[RepSummary], cue: str) -> list[Pair]:
    """Make the pairs of following reps, the second cued with this cue or not at all.

    Args:
        reps: of one athlete, alike.
        cue: the cue.

    Returns:
        Pairs in the order of time.
    """
    pairs = []
    for number, session in enumerate(by_session(reps)):
        plain = [rep.number for rep in session if not rep.cue] or [session[0].number]
        level = fmean(plain)
        pairs += [
            Pair(
                session=number,
                first=first.number,
                second=second.number,
                standing=first.number - level,
                place=place,
                is_cued=second.cue == cue,
            )
            for place, (first, second) in enumerate(pairwise(session), start=1)
            if second.cue in {"", cue}
        ]
    return pairs


def _alike(pairs: Sequence[Pair]) -> int:
    """Count the uncued pairs whose first rep stood where those of the cued ones stood."""
    cued = [pair.standing for pair in pairs if pair.is_cued]
    margin = float(np.std([pair.standing for pair in pairs])) / 2.0
    return sum(
        min(cued) - margin <= pair.standing <= max(cued) + margin
        for pair in pairs
        if not pair.is_cued
    )


def _fit(pairs: Sequence[Pair], unit: str) -> Estimate | None:
    """Fit the effect by least squares; None where the pairs do not determine it."""
    session = np.array([pair.session for pair in pairs])
    columns = [
        np.array([float(pair.is_cued) for pair in pairs]),
        np.array([pair.first for pair in pairs]),
    ]
    if len(pairs) >= PAIRS_FOR_PLACE:
        columns.append(np.array([float(pair.place) for pair in pairs]))
    design = np.column_stack(
        [*columns, *(session == number for number in np.unique(session))]
    ).astype(np.float64)
    second = np.array([pair.second for pair in pairs])
    dof = design.shape[0] - design.shape[1]
    if dof < FEWEST_DOF or np.linalg.matrix_rank(design) < design.shape[1]:
        return None
    inverse = np.linalg.inv(design.T @ design)
    coefficients = inverse @ (design.T @ second)
    left = second - design @ coefficients
    variance = float(left @ left) / dof
    u = MARGIN * float(np.sqrt(variance * inverse[0, 0]))
    return Estimate(float(coefficients[0]), unit, u, float(dof))
