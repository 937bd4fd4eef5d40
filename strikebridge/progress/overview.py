"""All that is known of one athlete in one exercise, hand and set-up."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from statistics import fmean
from typing import TYPE_CHECKING

from strikebridge.measures import drop_off
from strikebridge.progress.change import Change, change_since_baseline
from strikebridge.progress.cue import CueEffect, cue_effect
from strikebridge.progress.heading import Heading, heading
from strikebridge.progress.readiness import Today, readiness
from strikebridge.progress.rep_summary import by_like, by_session
from strikebridge.progress.score import score_of, score_run
from strikebridge.progress.trend import weekly_trend
from strikebridge.progress.typical_error import (
    ASSUMED,
    own_error,
    pool,
    typical_error,
)
from strikebridge.progress.worthwhile import smallest_worthwhile

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.selection import Like, RepSummary
    from strikebridge.progress.estimate import Estimate
    from strikebridge.progress.score import Score, ScoreRun
    from strikebridge.progress.typical_error import SquadError, TypicalError
    from strikebridge.samples import MeasureValue


@dataclass(frozen=True, slots=True)
class Squad:
    """What the squad tells about one exercise.

    Attributes:
        error: typical error that each athlete's own is pulled to.
        worthwhile: smallest worthwhile change by hand, in the unit of the reps; a hand is
            missing where the squad is too small.
    """

    error: SquadError = ASSUMED
    worthwhile: Mapping[str, float] | None = None


@dataclass(frozen=True)
class Overview:
    """One athlete, exercise, hand and set-up over all sessions.

    A board has a hundred of these and shows little of each, so whatever the scores do not give
    is found once it is asked for, and kept (which is why there are no slots).

    Attributes:
        summaries: the reps, in the order of time.
        squad: what the squad tells about this exercise.
        run: the scores that are compared, with cautions.
    """

    summaries: tuple[RepSummary, ...]
    squad: Squad
    run: ScoreRun

    @property
    def like(self) -> Like:
        """Whose, and of what."""
        return self.summaries[0].like

    @property
    def reps(self) -> int:
        """How many reps."""
        return len(self.summaries)

    @property
    def sessions(self) -> int:
        """How many sessions."""
        return len(self._sessions)

    @cached_property
    def best(self) -> RepSummary:
        """The best rep of all."""
        return max(self.summaries, key=lambda rep: rep.number)

    @cached_property
    def best_three(self) -> Score:
        """Mean of the best three reps of the newest session; says how many it is of."""
        return score_of(self._sessions[-1])

    @cached_property
    def error(self) -> TypicalError:
        """Typical error of a score."""
        return typical_error(own_error(self.run.scores), self.squad.error)

    @cached_property
    def change(self) -> Change | None:
        """Since the baseline; None with fewer than two scores."""
        return change_since_baseline(self.run.scores, self.error)

    @cached_property
    def trend(self) -> Estimate | None:
        """Change in a week; None with fewer than three scores."""
        return weekly_trend(self.run, self.error)

    @cached_property
    def today(self) -> Today:
        """Readiness of the newest session."""
        return readiness(self.run.scores, self.error, self.worthwhile)

    @property
    def worthwhile(self) -> float | None:
        """Smallest worthwhile change, None where unknown."""
        return (self.squad.worthwhile or {}).get(self.like.hand)

    @cached_property
    def drop_offs(self) -> Mapping[int, MeasureValue]:
        """Drop-off of each set of the newest session [%/rep], by its number."""
        return _drop_offs(self._sessions[-1])

    @cached_property
    def cues(self) -> tuple[CueEffect, ...]:
        """What each cue did."""
        cues = sorted({rep.cue for rep in self.summaries} - {""})
        return tuple(cue_effect(self.summaries, cue) for cue in cues)

    @property
    def heading(self) -> Heading:
        """Up, flat or fading, in one word."""
        return heading(self.change, self.worthwhile)

    @cached_property
    def _sessions(self) -> list[tuple[RepSummary, ...]]:
        return by_session(self.summaries)


def squads(reps: Sequence[RepSummary]) -> dict[str, Squad]:
    """Find what the squad has in common, exercise by exercise.

    Args:
        reps: of all athletes.

    Returns:
        By key of the exercise.
    """
    return squads_of({like: score_run(some) for like, some in by_like(reps).items()})


def squads_of(all_runs: Mapping[Like, ScoreRun]) -> dict[str, Squad]:
    """Find what the squad has in common, from scores that are there already.

    Args:
        all_runs: scores of like reps, of all athletes.

    Returns:
        By key of the exercise.
    """
    runs: dict[str, dict[Like, ScoreRun]] = {}
    for like, run in all_runs.items():
        runs.setdefault(like.exercise, {})[like] = run
    found = {}
    for exercise, by_athlete in runs.items():
        error = pool([run.scores for run in by_athlete.values()])
        worthwhile = {}
        for hand in {like.hand for like in by_athlete}:
            size = smallest_worthwhile(_levels(by_athlete, hand), error.share)
            if size is not None:
                worthwhile[hand] = size
        found[exercise] = Squad(error, worthwhile)
    return found


def overview(
    reps: Sequence[RepSummary], squad: Squad | None = None, run: ScoreRun | None = None
) -> Overview:
    """Put together what is known.

    Args:
        reps: alike, each with a value, at least one.
        squad: what the squad tells about this exercise; None: nothing.
        run: their scores, where they are there already.

    Returns:
        The overview.

    Raises:
        ValueError: without a rep, or where they are not alike.
    """
    if not reps:
        raise ValueError("There is no rep to look at.")
    return Overview(tuple(reps), squad or Squad(), run or score_run(reps))


def _levels(runs: Mapping[Like, ScoreRun], hand: str) -> list[float]:
    """Give the newest score of each athlete; of several set-ups the mean."""
    newest: dict[str, list[float]] = {}
    for like, run in runs.items():
        if like.hand == hand and run.scores:
            newest.setdefault(like.athlete, []).append(run.scores[-1].value)
    return [fmean(values) for values in newest.values()]


def _drop_offs(session: Sequence[RepSummary]) -> dict[int, MeasureValue]:
    sets: dict[int, list[tuple[int, MeasureValue]]] = {}
    for rep in session:
        place = len(sets.setdefault(rep.set_number, []))
        sets[rep.set_number].append((place, rep.value))
    return {number: drop_off(some) for number, some in sets.items()}
