"""Invented camps of the Saltmarsh Quay club, for the pictures and tests of the reports."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.club.athlete import AgeGroup, Athlete, Hand, Side, Stance
from strikebridge.club.exercise import Way
from strikebridge.club.rig_setup import Cover, Fist, Pad, RigSetup
from strikebridge.club.saltmarsh_quay import CLUB, saltmarsh_quay
from strikebridge.club.selection import Like, RepSummary, like_of, maximal_of
from strikebridge.club.training import ClosedTurn, Closing, RepRecord, SessionRecord
from strikebridge.glance import Trace
from strikebridge.progress.overview import overview, squads
from strikebridge.progress.rep_summary import by_like
from strikebridge.records import Camp as Recorded
from strikebridge.records import Standing
from strikebridge.reports.session_report import Told
from strikebridge.reports.standing import AthleteStory, Club, stories
from strikebridge.samples import MeasureValue, Status
from strikebridge.typed import WITHHELD as TYPED

if TYPE_CHECKING:
    from collections.abc import Sequence

LONG_NAME = "Wilhelmina Featherstonehaugh-Oyelaran"
START = datetime(2026, 1, 12, 18, 30, tzinfo=UTC)
TODAY = date(2026, 3, 28)
WALL = RigSetup(pad_height_m=1.42, distance_m=0.55, pad=Pad.BALL, cover=Cover.WRAP)
LOW_WALL = RigSetup(pad_height_m=1.1, distance_m=0.7, pad=Pad.CUSHION, fist=Fist.PALM)
CUES = ("snap", "whole body")
PLANS = {f"s{test}": "fight-day" if test == 5 else "test-day" for test in range(10)}


@dataclass(frozen=True)
class Camp:
    """How an athlete's tests of one exercise go."""

    exercise: str
    start_N: float
    gain_N: float  # from the first to the last test
    tests: int = 10
    reps: int = 3
    days_apart: float = 7.5
    varies: float = 0.035  # from test to test
    setup: RigSetup | None = WALL
    certificates: tuple[str, ...] = ("c1",)
    cue: str = ""


def peak(value_N: float, certificate: str) -> MeasureValue:
    return MeasureValue(
        "peak_force", value_N, "N", 0.006 * value_N, 0.008 * value_N, certificate, 24.0, 2.06
    )


def hand_of(athlete: Athlete, exercise: str) -> str:
    lead_is_left = athlete.stance is Stance.ORTHODOX
    if exercise.startswith(Side.LEAD):
        return Hand.LEFT if lead_is_left else Hand.RIGHT
    return Hand.RIGHT if lead_is_left else Hand.LEFT


def camp_reps(athlete: Athlete, camp: Camp, seed: int) -> list[RepSummary]:
    """Draw the reps of one camp; the same seed gives the same ones."""
    draw = random.Random(f"{seed} {camp.exercise}")
    like = Like(
        athlete.id,
        camp.exercise,
        str(hand_of(athlete, camp.exercise)),
        None if camp.setup is None else camp.setup.key,
    )
    found = []
    for test in range(camp.tests):
        share = test / max(1, camp.tests - 1)
        level = (camp.start_N + share * camp.gain_N) * draw.gauss(1.0, camp.varies)
        certificate = camp.certificates[test * len(camp.certificates) // camp.tests]
        for rep in range(camp.reps):
            is_cued = bool(camp.cue) and rep > 0 and draw.random() < 0.4
            value = level * draw.gauss(1.0, 0.025) + (25.0 if is_cued else 0.0)
            found.append(
                RepSummary(
                    like,
                    f"s{test}",
                    START + timedelta(days=test * camp.days_apart, minutes=rep),
                    rep + 1,
                    peak(value, certificate),
                    camp.cue if is_cued else "",
                )
            )
    return found


def invented_club() -> Club:
    """The six athletes with ids that do not change from one time to the next."""
    athletes = [replace(one, id=f"a{i}") for i, one in enumerate(saltmarsh_quay())]
    return Club({one.id: one for one in athletes})


def told_of(reps: Sequence[RepSummary], club: Club) -> tuple[AthleteStory, ...]:
    """Lead reps to what a page says, as the way out of the database does."""
    found = squads(reps)
    standings = tuple(
        Standing(overview(some, found[like.exercise]), some, ())
        for like, some in by_like(reps).items()
    )
    setups = {one.key: one for one in (WALL, LOW_WALL)}
    return stories(Recorded(standings, found, START, None, "peak_force", setups, PLANS), club)


def invented_camp(club: Club) -> list[RepSummary]:
    """Ten weeks of a squad: gains, losses, sides that differ, few tests, none at all."""
    ids = list(club.athletes)
    both = (
        (0, 410.0, 380.0, 120.0),
        (1, 760.0, 640.0, -20.0),
        (2, 350.0, 345.0, 60.0),
        (3, 905.0, 790.0, -150.0),
        (4, 560.0, 540.0, 25.0),
    )
    reps: list[RepSummary] = []
    for at, rear_N, lead_N, gain_N in both:
        athlete = club.athletes[ids[at]]
        cue = CUES[0] if at in {0, 3} else ""
        reps += camp_reps(athlete, Camp("rear-straight", rear_N, gain_N, 10, 5, cue=cue), at)
        reps += camp_reps(
            athlete,
            Camp("lead-straight", lead_N, gain_N / 2.0, 8, certificates=("c1", "c2")),
            at,
        )
    first = club.athletes[ids[0]]
    reps += camp_reps(first, Camp("rear-hook", 300.0, 10.0, 3), 7)
    reps += camp_reps(first, Camp("rear-hook", 280.0, 0.0, 1, setup=LOW_WALL), 8)
    reps += camp_reps(first, Camp("lead-uppercut", 210.0, 5.0, 2, reps=2, setup=None), 9)
    return reps


def large_squad(athletes: int, seed: int = 3) -> tuple[Club, list[RepSummary]]:
    """A squad of many, all with long names and three-digit numbers."""
    draw = random.Random(seed)
    found, reps = {}, []
    for i in range(athletes):
        athlete = Athlete(
            f"b{i:03}", f"{LONG_NAME} {i + 1}", Stance.SOUTHPAW, AgeGroup.ADULT, groups=(CLUB,)
        )
        found[athlete.id] = athlete
        for exercise in ("rear-straight", "lead-straight", "rear-uppercut-straight-arm"):
            camp = Camp(exercise, draw.uniform(1000.0, 1600.0), draw.gauss(60.0, 150.0), 6)
            reps += camp_reps(athlete, camp, i)
    return Club(found), reps


def invented_session(club: Club) -> Told:
    """A session with everything that may happen in one."""
    started = START + timedelta(days=70)
    people = tuple(club.athletes)[:4]
    record = SessionRecord(
        "5e55104", "taper-day", "", people, 40, started, started + timedelta(minutes=40), CLUB
    )
    reps: list[RepRecord] = []
    draw = random.Random(11)
    for athlete in people[:3]:
        for turn in range(1, 9):
            reps.append(_session_rep(club.athletes[athlete], len(reps) + 1, turn, draw))
    reps[2] = replace(reps[2], is_kept=False)
    reps.append(replace(reps[2], attempt=2, is_kept=True, cue=CUES[0]))
    timed = replace(reps[0], turn=30, exercise="band-shadow-boxing", hand=None)
    reps.append(replace(timed, way=Way.TIMED, rise="", hold="", faults=(), measures={}))
    last = club.athletes[people[2]]
    typed = {"hold_mean": replace(peak(640.0, ""), name="hold_mean")}
    held = MeasureValue(
        "held_time", None, "s", None, None, status=Status.WITHHELD, reason=TYPED
    )
    reps.append(
        replace(
            _session_rep(last, 31, 1, draw),
            way=Way.TYPED,
            exercise="rear-uppercut",
            measures=typed | {"held_time": held},
        )
    )
    closings = (
        (Closing.SKIPPED, 32),
        (Closing.PAIN, 33),
        (Closing.PAIN, 34),
        (Closing.NO_SHOW, 35),
    )
    closed = tuple(
        ClosedTurn(record.id, turn, people[1], "rear-hook", why, started)
        for why, turn in (*closings, (Closing.UNDONE, 36))
    )
    before = {maximal_of(like_of(rep)): peak(300.0, "c1") for rep in reps[:8] if rep.turn % 2}
    for rep in reps[8:16]:  # the best of the days before is the best of today
        here = rep.measures["peak_force"]
        there = before.get(maximal_of(like_of(rep)), here)
        before[maximal_of(like_of(rep))] = max(here, there, key=lambda one: one.value or 0.0)
    curves = {rep.turn: _curve(rep.turn) for rep in reps[:20]}
    return Told(record, tuple(reps), closed, before, curves)


def _session_rep(athlete: Athlete, turn: int, number: int, draw: random.Random) -> RepRecord:
    exercise = ("rear-straight", "lead-hook")[number % 2]
    value = {"a0": 420.0, "a1": 900.0, "a2": 1180.0}[athlete.id] * draw.gauss(1.0, 0.04)
    return RepRecord(
        session="5e55104",
        turn=turn,
        athlete=athlete.id,
        exercise=exercise,
        set_number=(number + 1) // 2,
        rep_number=1,
        ended_at=START + timedelta(days=70, minutes=turn),
        hand=Hand(hand_of(athlete, exercise)),
        stance=athlete.stance,
        setup=WALL,
        rise="snap" if number % 3 else "ramp",
        hold="steady" if number % 4 else "early let-go",
        faults=("early let-go",) if number % 4 == 0 else ("ramp",) if number % 3 == 0 else (),
        measures={
            "peak_force": peak(value, "c1"),
            "hold_quality": MeasureValue("hold_quality", 93.0, "%", 2.0, 0.0),
            "held_time": MeasureValue("held_time", 3.02, "s", 0.02, 0.0),
            "steadiness": MeasureValue("steadiness", 1.4, "%", 0.3, 0.0),
        },
    )


def _curve(turn: int) -> Trace:
    time_s = np.arange(-0.3, 3.6, 1.0 / 80.0)
    rise = 400.0 * (1.0 - np.exp(-np.maximum(time_s, 0.0) / (0.05 + 0.02 * (turn % 5))))
    return Trace(time_s, np.where(time_s < 3.0, rise, 0.0))
