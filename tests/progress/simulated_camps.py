"""Simulated camps whose truth is known: what is said of them, counted in a table.

`python -m tests.progress.simulated_camps --n 500` prints it and exits with 1 when a limit is
missed. Athletes differ in strength and in how much they vary; every squad has 25. Their
reps go through the same functions as those of real athletes. A rate stands beside its own
standard error; limits are those asked of the program, not widened by it.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.club.selection import Like, RepSummary
from strikebridge.progress.change import Change, change_since_baseline
from strikebridge.progress.cue import cue_effect
from strikebridge.progress.estimate import Estimate, Word
from strikebridge.progress.readiness import Readiness, readiness
from strikebridge.progress.score import ScoreRun, score_run
from strikebridge.progress.trend import weekly_trend
from strikebridge.progress.typical_error import (
    SquadError,
    TypicalError,
    own_error,
    pool,
    typical_error,
)
from strikebridge.samples import MeasureValue

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

SQUAD = 25
PUNCHES = 6
REPS = 5
ENOUGH_POOLED = 20.0
TESTS = (2, 3, 4, 6, 10, 20)
DAYS_APART = 3.5
LEVEL_N, LEVEL_SD_N = 900.0, 200.0
DAY_SHARE, REP_SHARE = 0.04, 0.03
SPREAD = 0.25  # SD of the logarithm of how much athletes vary
U_OWN_N = 2.0
U_GAIN = 0.01  # of a calibration
START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Athlete:
    """An invented athlete: strength, and what a session and a rep vary by, as shares."""

    name: str
    level_N: float
    day_share: float
    rep_share: float


@dataclass(frozen=True)
class Row:
    """A line of the table: how often something was said, and how often it may be."""

    what: str
    tests: str
    said: int
    of: int
    least: float
    most: float

    @property
    def rate(self) -> float:
        return self.said / self.of if self.of else 0.0

    @property
    def is_met(self) -> bool:
        return self.of > 0 and self.least <= self.rate <= self.most

    @property
    def is_beyond_chance(self) -> bool:
        """Say whether a limit is missed by more than four standard errors at that limit."""
        low, high = (
            4.0 * (p * (1.0 - p) / max(self.of, 1)) ** 0.5 for p in (self.least, self.most)
        )
        return not self.least - low <= self.rate <= self.most + high

    def line(self) -> str:
        error = (self.rate * (1.0 - self.rate) / max(self.of, 1)) ** 0.5
        limit = (
            f"<= {100 * self.most:g} %"
            if self.least == 0.0
            else f">= {100 * self.least:g} %"
            if self.most == 1.0
            else f"{100 * self.least:g} to {100 * self.most:g} %"
        )
        met = "met" if self.is_met else "MISSED"
        return (
            f"{self.what:<52} {self.tests:>5} {self.of:>6} {100 * self.rate:7.2f} % "
            f"± {100 * error:4.2f}   {limit:<12} {met}"
        )


def best_of_five(rng: np.random.Generator) -> tuple[float, float]:
    """Find mean and SD of the mean of the best three of five normal reps."""
    draws = np.sort(rng.standard_normal((400_000, REPS)), axis=1)[:, -3:].mean(axis=1)
    return float(draws.mean()), float(draws.std())


class Camps:
    """Squads of invented athletes, with the reps of a camp for each."""

    def __init__(self, athletes: int, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.best_mean, self.best_sd = best_of_five(self.rng)
        self.athletes = [self._athlete(i) for i in range(athletes)]

    def _athlete(self, number: int) -> Athlete:
        varies = float(np.exp(SPREAD * self.rng.standard_normal()))
        return Athlete(
            name=f"athlete {number}",
            level_N=float(max(300.0, LEVEL_N + LEVEL_SD_N * self.rng.standard_normal())),
            day_share=DAY_SHARE * varies,
            rep_share=REP_SHARE * varies,
        )

    def squads(self) -> Iterator[list[Athlete]]:
        """Give the athletes one squad at a time, once for each punch."""
        for _ in range(PUNCHES):
            for first in range(0, len(self.athletes), SQUAD):
                yield self.athletes[first : first + SQUAD]

    def score_share(self, athlete: Athlete) -> float:
        """Give the true SD of a score as a share of its own mean."""
        return float(
            np.hypot(athlete.day_share, athlete.rep_share * self.best_sd)
            / (1.0 + athlete.rep_share * self.best_mean)
        )

    def mean_N(self, athlete: Athlete) -> float:
        """Give the true mean of a score while nothing has changed."""
        return athlete.level_N * (1.0 + athlete.rep_share * self.best_mean)

    def scores(
        self, athlete: Athlete, tests: int, gain: Callable[[int], float], recalibrated: int = 0
    ) -> ScoreRun:
        """Let an athlete train; gain(test) is the true gain as a share of the level.

        From test `recalibrated` on, another certificate is in use (0: one for all).
        """
        like = Like(athlete.name, "rear straight", "right", "wall")
        wrong = U_GAIN * self.rng.standard_normal(2)
        reps = []
        for test in range(tests):
            newer = int(bool(recalibrated) and test >= recalibrated)
            day = 1.0 + athlete.day_share * self.rng.standard_normal()
            shares = day + athlete.rep_share * self.rng.standard_normal(REPS)
            true = athlete.level_N * (1.0 + gain(test)) * shares
            read = true * (1.0 + wrong[newer])
            at = START + timedelta(days=DAYS_APART * test)
            reps += [
                RepSummary(
                    like=like,
                    session=str(test),
                    at=at + timedelta(minutes=turn),
                    turn=turn,
                    value=peak(float(value), f"certificate {newer}"),
                )
                for turn, value in enumerate(read)
            ]
        return score_run(reps)


def peak(value_N: float, certificate: str) -> MeasureValue:
    return MeasureValue(
        "peak_force", value_N, "N", U_OWN_N, U_GAIN * value_N, certificate=certificate
    )


def first_of(run: ScoreRun, tests: int) -> ScoreRun:
    return replace(run, scores=run.scores[:tests])


def errors_of(runs: list[ScoreRun]) -> tuple[SquadError, list[TypicalError]]:
    squad = pool([run.scores for run in runs])
    return squad, [typical_error(own_error(run.scores), squad) for run in runs]


def changes_of(runs: list[ScoreRun]) -> list[tuple[Change, TypicalError, SquadError]]:
    squad, errors = errors_of(runs)
    found = []
    for run, error in zip(runs, errors, strict=True):
        change = change_since_baseline(run.scores, error)
        if change is not None:
            found.append((change, error, squad))
    return found


def of_no_change(camps: Camps) -> Iterator[Row]:
    """Count what is called real where nothing has changed."""
    squads = [
        [camps.scores(one, max(TESTS), lambda _: 0.0) for one in squad]
        for squad in camps.squads()
    ]
    for tests in TESTS:
        found = [
            change
            for runs in squads
            for change, _, _ in changes_of([first_of(run, tests) for run in runs])
        ]
        for sign, word in ((1, "up"), (-1, "down")):
            said = sum(c.word is Word.REAL and c.estimate.value * sign > 0 for c in found)
            what = f"nothing changed, called real, {word}"
            yield Row(what, str(tests), said, len(found), 0.0, 0.025)
    yield from _flat(squads)


def _flat(squads: list[list[ScoreRun]]) -> Iterator[Row]:
    for tests in TESTS:
        said = of = 0
        inside = 0
        for runs in squads:
            cut = [first_of(run, tests) for run in runs]
            for run, error in zip(cut, errors_of(cut)[1], strict=True):
                today = readiness(run.scores, error)
                if today.change is not None:
                    of += 1
                    said += today.word is Readiness.FLAT
                    inside += today.change.low <= 0.0 <= today.change.high
        if of:
            yield Row("nothing changed, today called flat", str(tests), said, of, 0.0, 0.05)
            what = "coverage: today against the last weeks"
            yield Row(what, str(tests), inside, of, 0.93, 0.97)


def of_double(camps: Camps) -> Iterator[Row]:
    """Count how often twice the least real change is found, at pooled dof of 20 or more.

    Once one athlete in five gains, once the whole squad does at the same time.
    """
    for every, name in ((5, "one in five"), (1, "the whole squad")):
        for tests in TESTS[1:]:
            found = of = 0
            for squad in camps.squads():
                runs = [camps.scores(one, tests, lambda _: 0.0) for one in squad]
                plain = changes_of(runs)
                if plain[0][2].pooled_dof < ENOUGH_POOLED:
                    continue
                for i in range(0, len(runs), every):
                    # on top of what the newest test came to by chance
                    scores, least = runs[i].scores, plain[i][0].least_real
                    gained = replace(scores[-1], value=scores[-1].value + 2.0 * least)
                    runs[i] = replace(runs[i], scores=(*scores[:-1], gained))
                for change, _, _ in changes_of(runs)[::every]:
                    of += 1
                    found += change.word is Word.REAL and change.estimate.value > 0
            if of:
                what = f"twice the least real change, {name}"
                yield Row(what, str(tests), found, of, 0.95, 1.0)


def of_coverage(camps: Camps) -> Iterator[Row]:
    """Count how often the intervals hold the truth: steady gains, one plate or two."""
    for again in (False, True):
        name = ", recalibrated half-way" if again else ""
        for tests in TESTS[1:]:
            change_in = trend_in = of = 0
            for squad in camps.squads():
                gains = 0.01 * camps.rng.standard_normal(len(squad))
                runs = [
                    camps.scores(
                        athlete,
                        tests,
                        lambda test, gain=gain: gain * test,  # type: ignore[misc] # the loop's
                        tests // 2 if again else 0,
                    )
                    for athlete, gain in zip(squad, gains, strict=True)
                ]
                _, errors = errors_of(runs)
                for athlete, gain, run, error in zip(squad, gains, runs, errors, strict=True):
                    of += 1
                    change = change_since_baseline(run.scores, error)
                    trend = weekly_trend(run, error)
                    assert change is not None
                    assert trend is not None
                    before = (change.tests_before - 1) / 2.0
                    true = camps.mean_N(athlete) * gain
                    change_in += holds(change.estimate, true * (tests - 1 - before))
                    trend_in += holds(trend, true * 7.0 / DAYS_APART)
            yield Row(f"coverage: change{name}", str(tests), change_in, of, 0.93, 0.97)
            yield Row(f"coverage: trend{name}", str(tests), trend_in, of, 0.93, 0.97)


def holds(estimate: Estimate, true: float) -> bool:
    return estimate.low <= true <= estimate.high


def cued_reps(
    camps: Camps, athlete: Athlete, sessions: int, effect: float, tiring: float
) -> list[RepSummary]:
    """Let a coach cue after poor reps, in half of the cases; the cue adds `effect` x rep SD."""
    like = Like(athlete.name, "rear straight", "right", "wall")
    rng = camps.rng
    reps = []
    for session in range(sessions):
        day = 1.0 + athlete.day_share * rng.standard_normal()
        standing, cue = 0.0, ""
        for turn in range(8):
            cue = "snap" if standing < -0.3 and rng.random() < 0.5 else ""
            standing = float(rng.standard_normal()) - tiring * turn
            added = effect if cue else 0.0
            value_N = athlete.level_N * (day + athlete.rep_share * (standing + added))
            reps.append(
                RepSummary(
                    like=like,
                    session=str(session),
                    at=START + timedelta(days=session, minutes=turn),
                    turn=turn,
                    value=peak(value_N, "certificate"),
                    cue=cue,
                )
            )
    return reps


def of_cues(camps: Camps) -> Iterator[Row]:
    """Count what is said of cues given after poor reps."""
    for sessions in (2, 4, 8):
        for name, effect, tiring in (
            ("", 0.0, 0.0),
            (", tiring", 0.0, 0.15),
            (" of 1 SD of the reps", 1.0, 0.0),
        ):
            said = inside = of = 0
            for athlete in camps.athletes * 4:
                found = cue_effect(cued_reps(camps, athlete, sessions, effect, tiring), "snap")
                if found.effect is not None:
                    of += 1
                    said += found.word is Word.REAL
                    true = effect * athlete.rep_share * athlete.level_N
                    inside += holds(found.effect, true)
            if effect:
                what = f"coverage: cue with an effect{name}"
                yield Row(what, str(sessions), inside, of, 0.93, 0.97)
            else:
                what = f"cue without effect after poor reps{name}"
                yield Row(what, str(sessions), said, of, 0.0, 0.05)


def table(athletes: int, seed: int) -> list[Row]:
    camps = Camps(athletes, seed)
    return [
        *of_no_change(camps),
        *of_double(camps),
        *of_coverage(camps),
        *of_cues(camps),
    ]


def main(words: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--n", type=int, default=500, help="athletes")
    parser.add_argument("--seed", type=int, default=7)
    chosen = parser.parse_args(words)
    print(
        f"{chosen.n} athletes in squads of {SQUAD}, {PUNCHES} punches each, seed {chosen.seed}"
    )
    print(f"{'':<52} {'tests':>5} {'of':>6} {'rate':>9}")
    rows = table(chosen.n, chosen.seed)
    for row in rows:
        print(row.line())
    missed = sum(not row.is_met for row in rows)
    print(f"{len(rows) - missed} of {len(rows)} limits met")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
