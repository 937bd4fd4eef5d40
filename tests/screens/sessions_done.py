"""Sessions that are over, with cues, faults, stops and words as long as they come."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from strikebridge.club.athlete import Hand
from strikebridge.club.exercise import Way
from strikebridge.club.training import RepRecord, SessionRecord
from strikebridge.looking_back import AthleteDone, CueSeen, Kept, SessionDone, Work
from strikebridge.progress.cue import CueEffect
from strikebridge.progress.estimate import Estimate
from strikebridge.samples import Effort, Prescription, Rep
from tests.screens.desks import reps
from tests.screens.session_glances import GERMAN, LONG

BEGAN = datetime(2026, 11, 25, 17, 30, tzinfo=UTC)


def kept(rep: Rep, turn: int, *, cue: str = "", is_kept: bool = True) -> Kept:
    verdict = rep.verdict
    record = RepRecord(
        session="s",
        turn=turn,
        athlete="a",
        exercise="rear-straight",
        set_number=1,
        rep_number=turn,
        ended_at=BEGAN + timedelta(minutes=turn),
        hand=Hand.RIGHT,
        prescription=Prescription(Effort.MAXIMAL, 3.0),
        way=Way.MEASURED,
        is_kept=is_kept,
        rise=verdict.rise,
        hold=verdict.hold,
        faults=("sagging", "ramp") if turn % 3 == 0 else (),
        cue=cue,
        measures=rep.measures,
    )
    return Kept(record, rep)


NO_VERDICT = CueEffect("snap", 1, 4, 21.0, None, "1 cued reps; 3 are needed")
BY_CHANCE = CueEffect("snap", 6, 9, 31.0, Estimate(4.0, "N", 12.0, 14.0))
REAL = CueEffect(
    "Schulter locker lassen und ausatmen", 6, 9, 41.0, Estimate(60.0, "N", 8.0, 14.0)
)
PAIRS = ((812.0, 851.0), (830.0, 842.0), (799.0, 871.0), (820.0, 833.0))


def work(
    name: str = "rear straight",
    count: int = 6,
    cues: tuple[CueSeen, ...] = (),
    best_words: str = "new best",
) -> Work:
    made = [
        kept(rep, turn, cue="snap" if turn == 4 else "", is_kept=turn != 2)
        for turn, rep in enumerate(reps(count, 1530.0 if count > 8 else 830.0), start=1)
    ]
    best = max(
        (one.rep.measures["peak_force"] for one in made if one.rep is not None),
        key=lambda value: value.value or 0.0,
    )
    return Work(name, Hand.RIGHT, Effort.MAXIMAL, tuple(made), best, best_words, cues)


def person(name: str, *, works: tuple[Work, ...], stopped: tuple[str, ...] = ()) -> AthleteDone:
    done = sum(len(one.kept) for one in works)
    return AthleteDone(name, done, done + 2, 3, stopped, works)


BY_CUE = (CueSeen(BY_CHANCE, PAIRS[:1]), CueSeen(NO_VERDICT, ()))
ALL_CUES = (CueSeen(REAL, PAIRS), CueSeen(BY_CHANCE, PAIRS), CueSeen(NO_VERDICT, PAIRS[:1]))
RECORD = SessionRecord("s", "taper-day", "", ("a",), 40, BEGAN)
SIX = SessionDone(
    RECORD,
    (
        person("Ines Halloran", works=(work(cues=BY_CUE), work("lead straight", 3))),
        person(
            LONG,
            works=tuple(
                work(f"{GERMAN} {k}", 12 if k == 0 else 4, ALL_CUES) for k in range(12)
            ),
            stopped=(GERMAN, "rear hook"),
        ),
        person("Tobias Merrow", works=()),
        *(person(f"Guest {k}", works=(work(best_words=""),)) for k in range(3)),
    ),
    left_out=3,
    still_open=1,
)
MANY = replace(
    SIX,
    people=SIX.people + tuple(person(f"Guest {k}", works=()) for k in range(3, 12)),
    cautions=("4 reps without a curve: session-1.jsonl cannot be read: no such file.",),
)
NOTHING = SessionDone(RECORD, (), 0, 40)
DONE = {"six": SIX, "many": MANY, "nothing": NOTHING}
