"""The reps on the coach's desk: those of this athlete and exercise, taken back or not."""

from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.samples import Prescription, Rep, Verdict
from strikebridge.session.attempts import Attempts
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.happenings import Done, TakenBack, Turned
from strikebridge.session.plan import Block, Plan
from strikebridge.session.turns import turns_of
from tests.made_holds import held, snap

INES, OTHER = (one.id for one in saltmarsh_quay()[:2])
STRAIGHTS = Block(name="rear", exercises=("rear-straight",), seconds=3.0, reps_per_side=2)
TURNS = turns_of(Plan(name="trial", block=(STRAIGHTS,)), (INES, OTHER), EXERCISES)
MINE = [turn for turn in TURNS if turn.athlete == INES]
ASKED = Prescription(hold_s=3.0)


def rep() -> Rep:
    return Rep(held(snap, rate_hz=80.0), ASKED, {}, (), Verdict("snap", "steady", (), "", ""))


def test_each_athlete_has_the_own_reps_and_those_taken_back_stay_marked() -> None:
    attempts, reps = Attempts(), [rep(), rep()]
    first, second = MINE
    attempts.hear(Turned(first))
    attempts.hear(Done(first, 1, ASKED, reps[0]))
    attempts.hear(Done(second, 1, ASKED, reps[1], cue="Chin down"))
    attempts.hear(TakenBack(first))
    found = attempts.at(second)
    assert [(one.number, one.is_kept, one.cue) for one in found] == [
        (1, False, ""),
        (2, True, "Chin down"),
    ]
    assert [one.rep for one in found] == reps
    (others, *_) = (turn for turn in TURNS if turn.athlete == OTHER)
    assert attempts.at(others) == ()


def test_what_was_only_timed_is_no_rep_and_may_be_taken_back() -> None:
    attempts = Attempts()
    attempts.hear(Done(MINE[0], 1, ASKED, None))
    attempts.hear(TakenBack(MINE[0]))
    assert attempts.at(MINE[0]) == ()
