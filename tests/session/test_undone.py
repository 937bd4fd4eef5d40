"""What was taken back, in one sentence."""

import pytest

from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.club.training import Closing
from strikebridge.samples import MeasureValue
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.happenings import Named, Undone
from strikebridge.session.plan import Block, Plan
from strikebridge.session.turns import turns_of
from strikebridge.session.undone import named_words, undone_words
from strikebridge.units import ForceUnit

INES = saltmarsh_quay()[0]
PEOPLE = {INES.id: INES}
PLAN = Plan(
    name="trial", block=(Block(name="rear", exercises=("rear-straight",), seconds=3.0),)
)
(TURN,) = turns_of(PLAN, tuple(PEOPLE), EXERCISES)
UNKNOWN = MeasureValue("peak_force", 1137.6, "N", None, None)
PEAK = MeasureValue("peak_force", 1137.6, "N", 2.0, 2.0)


@pytest.mark.parametrize(
    ("one", "force", "said"),
    [
        (Undone(), None, "Nothing of this session's run to take back."),
        (Undone(TURN), PEAK, "Taken back: Ines Halloran, rear straight, 116.0 ± 0.6 kg."),
        (Undone(TURN), UNKNOWN, "Taken back: Ines Halloran, rear straight, 116 kg."),
        (Undone(TURN), None, "Taken back: Ines Halloran, rear straight."),
        (
            Undone(TURN, Closing.PAIN),
            None,
            "Taken back: stop for pain of Ines Halloran, rear straight. It may go on.",
        ),
        (
            Undone(TURN, Closing.SKIPPED),
            None,
            "Taken back: skipped turn of Ines Halloran, rear straight. It comes again.",
        ),
    ],
)
def test_it_names_what_was_taken_back(
    one: Undone, force: MeasureValue | None, said: str
) -> None:
    assert undone_words(one, PEOPLE, force, ForceUnit.KG) == said


@pytest.mark.parametrize(
    ("is_before", "why"), [(True, "from before the break"), (False, "not the newest here")]
)
def test_it_names_what_a_redo_would_take_back(is_before: bool, why: str) -> None:
    assert named_words(Named(TURN, is_before), PEOPLE) == (
        f"Ines Halloran, rear straight, set 1, rep 1, {why}. Redo again takes it back; any "
        "other key: no."
    )
