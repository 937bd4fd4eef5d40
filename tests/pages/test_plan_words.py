"""A block in words, for each kind of target."""

import msgspec
import pytest

from strikebridge.pages.plan_words import block_words, dose_words, is_maximal, seconds_words
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.plan_file import BUILT_IN, built_in, read_plan

HEAD = 'name = "words"\n[[block]]\nname = "One"\nexercises = ["lead-hook"]\nseconds = 5\n'


@pytest.mark.parametrize(
    ("fields", "ending"),
    [
        (
            "",
            "hold 5 s as hard as they can, 1 rep, 1 set; rest 20 s; chase their best.",
        ),
        ('target = "none"', "1 set; rest 20 s."),
        ('target = "fixed"\nfixed_N = 450', "rest 20 s; mark at 450 N."),
        (
            'effort = "submaximal"\ntarget = "fixed"\nfixed_band_N = [300, 350.5]',
            "hold 5 s in a band, 1 rep, 1 set; rest 20 s; band 300 to 350.5 N.",
        ),
        ("sets_used_to_it = 3\nset_rest_s = 120", "1 set (used to it: 3); rest 20 s, 2 min "),
    ],
)
def test_a_block_is_said_in_words(fields: str, ending: str) -> None:
    plan = read_plan(HEAD + fields + "\n", EXERCISES)
    said = block_words(plan.block[0], EXERCISES)
    assert said.startswith("lead hook: hold 5 s")
    assert ending in said


def test_what_is_timed_is_not_maximal() -> None:
    timed = HEAD.replace("lead-hook", "wall-press")
    plan = read_plan(timed, EXERCISES)
    assert not is_maximal(plan, EXERCISES)
    assert block_words(plan.block[0], EXERCISES) == (
        "isometric press against the wall: 5 s, 1 rep, 1 set; rest 20 s."
    )


def test_every_plan_of_the_program_is_said_with_its_dose() -> None:
    doses = {}
    for name in BUILT_IN:
        plan = read_plan(built_in(name), EXERCISES)
        doses[name] = dose_words(plan)
        for block in plan.block:
            assert block_words(block, EXERCISES).endswith(".")
    said = {name: words for name, words in doses.items() if words}
    assert said == {
        "fight-day": "Dose: 1 set for those new to it, 3 sets for those used to it at most."
    }
    one_sided = msgspec.structs.replace(
        read_plan(built_in("fight-day"), EXERCISES), dose_sets=None
    )
    assert dose_words(one_sided) == "Dose: 3 sets for those used to it at most."


@pytest.mark.parametrize(
    ("seconds", "words"), [(3.0, "3 s"), (90.0, "90 s"), (120.0, "2 min"), (150.5, "150.5 s")]
)
def test_seconds_are_written_as_read(seconds: float, words: str) -> None:
    assert seconds_words(seconds) == words
