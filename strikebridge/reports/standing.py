"""What is known of an athlete, put in the order in which a page says it.

The numbers are those of `progress`; here nothing is computed anew. Reps are sorted into what
may be compared, each is held against what the squad tells, and one side against the other.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field, replace
from string import ascii_uppercase
from typing import TYPE_CHECKING

from strikebridge.club.athlete import Side
from strikebridge.progress.estimate import Estimate
from strikebridge.progress.overview import overview, squads
from strikebridge.progress.rep_summary import by_like, by_session
from strikebridge.progress.score import common_part
from strikebridge.progress.sides import asymmetry_by_session, pooled_asymmetry

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.athlete import Athlete
    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.progress.overview import Overview, Squad
    from strikebridge.progress.rep_summary import Like, RepSummary
    from strikebridge.progress.score import Score


@dataclass(frozen=True, slots=True)
class Standing:
    """One exercise, hand and set-up of an athlete.

    Attributes:
        overview: what is known.
        most_tries: reps of the session that had most of them.
        setup: how wall and fist were set up, None where none was noted.
        letter: names the set-up where the athlete did the same at others, A for the one with
            most tests; empty where there is no other.
    """

    overview: Overview
    most_tries: int
    setup: RigSetup | None
    letter: str = ""

    @property
    def like(self) -> Like:
        """What its reps share."""
        return self.overview.like

    @property
    def newest(self) -> Score:
        """The newest score that is compared; an overview has one at least."""
        return self.overview.run.scores[-1]

    @property
    def measured(self) -> Estimate:
        """The newest score with the doubt of its measuring."""
        return measured(self.newest)


@dataclass(frozen=True, slots=True)
class Sides:
    """Lead against rear in one punch at one set-up.

    Attributes:
        lead: key of the exercise of the lead hand.
        rear: key of that of the rear hand.
        percent: the difference [%], above zero where the lead hand is the stronger.
        u95_percent: half-width of its interval [%].
        sessions: how many had both.
    """

    lead: str
    rear: str
    percent: float
    u95_percent: float
    sessions: int

    @property
    def is_real(self) -> bool:
        """Say whether one hand may be called the stronger."""
        return abs(self.percent) > self.u95_percent


@dataclass(frozen=True, slots=True)
class AthleteStory:
    """What a page of an athlete is made of.

    Attributes:
        athlete: who.
        standings: most tests first.
        sides: lead against rear.
    """

    athlete: Athlete
    standings: tuple[Standing, ...]
    sides: tuple[Sides, ...]


@dataclass(frozen=True, slots=True)
class Club:
    """What reports have to know beside the reps.

    Attributes:
        athletes: id -> athlete.
        setups: key -> set-up.
        names: key of an exercise of the coach's own -> its name.
    """

    athletes: Mapping[str, Athlete]
    setups: Mapping[str, RigSetup] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)


def stories(reps: Sequence[RepSummary], club: Club) -> tuple[AthleteStory, ...]:
    """Put together what is known of each athlete of the club.

    Args:
        reps: of the whole squad, peak forces as a rule.
        club: who they are, and what was noted of set-ups and exercises.

    Returns:
        One for each athlete by name, those without a rep among them.
    """
    common = squads(reps)
    sorted_reps = by_like(reps)
    by_athlete: dict[str, dict[Like, tuple[RepSummary, ...]]] = {}
    for like, some in sorted_reps.items():
        by_athlete.setdefault(like.athlete, {})[like] = some
    return tuple(
        AthleteStory(
            athlete,
            _standings(by_athlete.get(athlete.id, {}), common, club),
            _sides(by_athlete.get(athlete.id, {})),
        )
        for athlete in sorted(club.athletes.values(), key=lambda one: one.name.casefold())
    )


def measured(score: Score) -> Estimate:
    """Give a score with the doubt of its measuring, the athlete's own variation left out.

    Args:
        score: the score.
    """
    u_common, dof_common = common_part([score], [1.0])
    u = math.hypot(score.u_own, u_common)
    # only the common part has few degrees of freedom
    dof = dof_common * (u / u_common) ** 4 if u_common > 0.0 else math.inf
    return Estimate(score.value, score.unit, u, dof)


def _standings(
    likes: Mapping[Like, tuple[RepSummary, ...]],
    common: Mapping[str, Squad],
    club: Club,
) -> tuple[Standing, ...]:
    found = [
        Standing(
            overview(some, common.get(like.exercise)),
            max(len(session) for session in by_session(some)),
            club.setups.get(like.setup or ""),
        )
        for like, some in likes.items()
    ]
    found.sort(
        key=lambda one: (-one.overview.sessions, one.like.exercise, one.like.setup or "")
    )
    total = Counter((one.like.exercise, one.like.hand) for one in found)
    seen: Counter[tuple[str, str]] = Counter()
    lettered = []
    for one in found:
        punch = one.like.exercise, one.like.hand
        letter = ascii_uppercase[seen[punch] % 26] if total[punch] > 1 else ""
        seen[punch] += 1
        lettered.append(replace(one, letter=letter))
    return tuple(lettered)


def _sides(likes: Mapping[Like, tuple[RepSummary, ...]]) -> tuple[Sides, ...]:
    """Compare every lead exercise with its rear one at the same set-up."""
    found = []
    for like, lead in likes.items():
        side, _, rest = like.exercise.partition("-")
        if side != Side.LEAD:
            continue
        rear_key = f"{Side.REAR}-{rest}"
        for other, rear in likes.items():
            if (other.exercise, other.setup, other.effort) == (
                rear_key,
                like.setup,
                like.effort,
            ):
                found += _compared(lead, rear)
    return tuple(found)


def _compared(lead: Sequence[RepSummary], rear: Sequence[RepSummary]) -> list[Sides]:
    by_day = [one for _, one in asymmetry_by_session(lead, rear) if one.value is not None]
    pooled = pooled_asymmetry(by_day)
    keys = lead[0].like.exercise, rear[0].like.exercise
    if pooled is not None:
        return [Sides(*keys, pooled.value, pooled.u95, len(by_day))]
    return [
        Sides(*keys, one.value, one.u95, 1)
        for one in by_day
        if one.value is not None and one.u95 is not None
    ]
