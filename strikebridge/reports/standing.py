"""What is known of an athlete, put in the order in which a page says it.

The numbers are those of `records.camp`; here nothing is computed anew. An athlete's exercises
are put in order, and where the same was done at several set-ups each gets a letter.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from string import ascii_uppercase
from typing import TYPE_CHECKING

from strikebridge.progress.sides import SESSIONS_TO_TELL, pooled_asymmetry

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.athlete import Athlete
    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.club.selection import Like
    from strikebridge.progress.overview import Overview
    from strikebridge.progress.score import Score
    from strikebridge.records import Camp
    from strikebridge.records import Sides as RecordedSides
    from strikebridge.records import Standing as RecordedStanding


BOUT = "fight-day"
"""The plan of a session on the day of a bout."""


@dataclass(frozen=True, slots=True)
class Standing:
    """One exercise, hand and set-up of an athlete.

    Attributes:
        overview: what is known.
        cautions: what a reader has to know of it, each a stored sentence.
        setup: how wall and fist were set up, None where none was noted.
        bouts: ids of its sessions that were done on the day of a bout.
        letter: names the set-up where the athlete did the same at others, A for the one with
            most tests; empty where there is no other.
    """

    overview: Overview
    cautions: tuple[str, ...]
    setup: RigSetup | None
    bouts: frozenset[str] = frozenset()
    letter: str = ""

    @property
    def like(self) -> Like:
        """What its reps share."""
        return self.overview.like

    @property
    def newest(self) -> Score:
        """The newest score that is compared; an overview has one at least."""
        return self.overview.run.scores[-1]


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
        """Say whether one hand may be called the stronger: one session cannot tell."""
        return self.sessions >= SESSIONS_TO_TELL and abs(self.percent) > self.u95_percent


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
    """Who is who, and what the coach's own exercises are called.

    Attributes:
        athletes: id -> athlete.
        names: key of an exercise of the coach's own -> its name.
    """

    athletes: Mapping[str, Athlete]
    names: Mapping[str, str] = field(default_factory=dict)


def stories(camp: Camp, club: Club, *, has_sides: bool = True) -> tuple[AthleteStory, ...]:
    """Put together what is known of each athlete of the club.

    Args:
        camp: what is on record.
        club: who they are.
        has_sides: False to leave out the comparison of the sides, which takes its time.

    Returns:
        One for each athlete by name, those without a rep among them.
    """
    sides: dict[str, list[Sides]] = {}
    for one in camp.sides() if has_sides else ():
        sides.setdefault(one.lead.like.athlete, []).extend(_sides(one))
    by_athlete: defaultdict[str, list[RecordedStanding]] = defaultdict(list)
    for standing in camp.standings:
        by_athlete[standing.like.athlete].append(standing)
    return tuple(
        AthleteStory(
            athlete, _standings(camp, by_athlete[athlete.id]), tuple(sides.get(athlete.id, ()))
        )
        for athlete in sorted(club.athletes.values(), key=lambda one: one.name.casefold())
    )


def _standings(camp: Camp, recorded: Sequence[RecordedStanding]) -> tuple[Standing, ...]:
    found = [
        Standing(
            one.overview,
            (*one.overview.run.cautions, *one.cautions),
            camp.setups.get(one.like.setup or ""),
            frozenset(rep.session for rep in one.reps if camp.plans.get(rep.session) == BOUT),
        )
        for one in recorded
    ]
    found.sort(
        key=lambda one: (-one.overview.sessions, one.like.exercise, one.like.setup or "")
    )
    return tuple(_lettered(found))


def _lettered(found: Sequence[Standing]) -> list[Standing]:
    """Give set-ups letters where the same was done at several."""
    total = Counter((one.like.exercise, one.like.hand) for one in found)
    seen: Counter[tuple[str, str]] = Counter()
    lettered = []
    for one in found:
        punch = one.like.exercise, one.like.hand
        letter = ascii_uppercase[seen[punch] % len(ascii_uppercase)] if total[punch] > 1 else ""
        seen[punch] += 1
        lettered.append(replace(one, letter=letter))
    return lettered


def _sides(sides: RecordedSides) -> list[Sides]:
    """Take the mean over the sessions that had both hands, or the only one."""
    by_session = [value for _, value in sides.by_session if value.value is not None]
    keys = sides.lead.like.exercise, sides.rear.like.exercise
    pooled = pooled_asymmetry(by_session)
    if pooled is not None:
        return [Sides(*keys, pooled.value, pooled.u95, len(by_session))]
    return [
        Sides(*keys, one.value, one.u95, 1)
        for one in by_session
        if one.value is not None and one.u95 is not None
    ]
