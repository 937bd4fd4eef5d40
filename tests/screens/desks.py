"""Desks of the invented club: the six in their order, reps of every kind, long words."""

from __future__ import annotations

from dataclasses import replace

from strikebridge.desk import Attempt, Desk, Place
from strikebridge.samples import Prescription, Rep, Verdict
from tests.made_holds import held, snap
from tests.screens.test_review import ramp, rep_of

LONGEST_NAME = "Maximiliane-Friederike Wolkenstein-Achterbergshausen van der L"  # 60 letters


def reps(count: int, peak_N: float = 830.0) -> tuple[Rep, ...]:
    made = []
    for k in range(count):
        hold = held(
            ramp if k % 4 == 3 else snap,
            newtons=peak_N + 21.0 * (k % 3),
            hold_s=1.4 if k % 5 == 2 else 3.1,
        )
        made.append(rep_of(replace(hold, number=k + 1), Prescription(hold_s=3.0)))
    return tuple(made)


def with_words(rep: Rep, rise: str, hold: str, faults: tuple[str, ...]) -> Rep:
    return replace(rep, verdict=Verdict(rise, hold, faults, "", ""))


NAMES = (
    "Ines Halloran",
    LONGEST_NAME,
    "Bram Okonjo",
    "Tove Marsh",
    "Kit",
    "Solveig Anand",
    *(f"Guest {k}" for k in range(1, 7)),
)
ORDER = tuple(
    Place(name, "rear uppercut, bent arm", k, 12, is_now=k == 0, is_next=k == 1)
    for k, name in enumerate(NAMES)
)
CUES = (
    "chin down", "breathe out", "hip first", "Schulter locker lassen", "back heel",
    "Handgelenk", "eyes up", "stiff", "relax",
)  # fmt: skip
FIVE = reps(5)
FULL = Desk(
    ORDER,
    (
        Attempt(1, FIVE[0]),
        Attempt(2, FIVE[1], cue="Schulter locker lassen und ausatmen"),
        Attempt(3, FIVE[2], is_kept=False),
        Attempt(4, with_words(FIVE[3], "not measurable", "not measurable", ("ramp", "shaky"))),
        Attempt(5, with_words(FIVE[4], "false start", "outside band", ("early let-go",) * 3)),
    ),
    CUES,
    ("Mind the shoulder.", "Mind the blood pressure.", "Breathe out on the push."),
)
DESKS = {
    "empty": Desk(),
    "one": Desk(ORDER[:6], (Attempt(1, FIVE[0]),), CUES[:3]),
    "full": FULL,
    "twelve": Desk(ORDER, tuple(Attempt(k + 1, rep) for k, rep in enumerate(reps(12, 2400.0)))),
}
