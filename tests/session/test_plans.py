"""Plans: what is read, every mistake named by line and field, turns, rests and lengths."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.club.athlete import Side
from strikebridge.club.exercise import Arm, Exercise, Way, key_fault
from strikebridge.errors import FaultyPlanError, PlanError
from strikebridge.samples import Effort
from strikebridge.session.exercises import EXERCISES, find, with_own
from strikebridge.session.plan import (
    Block,
    Mode,
    Order,
    Plan,
    check_dose,
    circuits,
    is_timed,
    with_sets,
)
from strikebridge.session.plan_file import BUILT_IN, built_in, read_plan
from strikebridge.session.turns import (
    MOST_TURNS,
    begins_by_itself,
    expected_s,
    length_words,
    turns_of,
)

GOOD = """\
name = "tuesday"
about = '''Two
seconds = 9
lines'''

[[block]]
name = "Straights"
exercises = ["straight", "rear-hook"]
seconds = 3
reps_per_side = 2
sets = 2
"""


def plan_named(name: str) -> Plan:
    return read_plan(built_in(name), EXERCISES)


def faults_of(text: str) -> tuple[str, ...]:
    with pytest.raises(FaultyPlanError) as caught:
        read_plan(text, EXERCISES)
    assert str(caught.value).endswith("\n".join(caught.value.faults))
    return caught.value.faults


def test_six_punches_with_a_straight_or_a_bent_arm_are_measured() -> None:
    measured = [one for one in EXERCISES.values() if one.way is Way.MEASURED]
    assert len(measured) == 12
    assert len({(one.name, one.side, one.arm) for one in measured}) == 12
    assert EXERCISES["rear-straight"].arm is Arm.STRAIGHT
    assert EXERCISES["lead-hook"].arm is Arm.BENT
    assert EXERCISES["lead-hook-straight-arm"].arm is Arm.STRAIGHT
    assert {key for key in EXERCISES if key_fault(key)} == set()
    assert all(one.key == key for key, one in EXERCISES.items())


def test_a_word_without_a_side_means_both() -> None:
    assert [one.side for one in find("hook", EXERCISES)] == [Side.LEAD, Side.REAR]
    assert [one.key for one in find("band-shadow-boxing", EXERCISES)] == ["band-shadow-boxing"]
    assert find("kick", EXERCISES) == ()


def test_a_coachs_own_exercise_never_replaces_one_of_the_programs() -> None:
    own = [
        Exercise("wall-sit", "wall sit", Way.TIMED),
        Exercise("rear-straight", "something else", Way.TIMED),
    ]
    known = with_own(own)
    assert known["wall-sit"] is own[0]
    assert known["rear-straight"] == EXERCISES["rear-straight"]


def test_a_good_plan_is_read() -> None:
    plan = read_plan(GOOD, EXERCISES)
    assert (plan.name, plan.mode, plan.order) == ("tuesday", Mode.COACH, Order.ATHLETE)
    assert plan.block[0].exercises == ("straight", "rear-hook")
    assert not is_timed(plan.block[0], EXERCISES)
    keys = [turn.exercise.key for turn in turns_of(plan, ("a",), EXERCISES)]
    assert keys == 2 * [
        *("lead-straight", "lead-straight", "rear-straight", "rear-straight"),
        *("rear-hook", "rear-hook"),
    ]


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (('name = "tuesday"', 'name = "Tues day"'), "line 1, name: 'Tues day' will not do"),
        (('name = "tuesday"', "colour = 3"), "line 1, colour: there is no such field."),
        (('name = "tuesday"', ""), "line 1, name: is missing; write a name"),
        (("reps_per_side = 2", "reps_per_side = 0"), "line 10, reps_per_side: 0 will not do"),
        (("sets = 2", "sets = 2.5"), "line 11, sets: 2.5 will not do; write a whole number"),
        (("seconds = 3", 'seconds = "3"'), "line 9, seconds: '3' will not do; write seconds"),
        (("seconds = 3", "seconds = nan"), "line 9, seconds: nan will not do"),
        (("seconds = 3\n", ""), "line 6, seconds: is missing; write seconds from 1 to 900."),
        (("seconds = 3", "seconds = 61"), "line 9, seconds: a hold at the wall lasts 60 s"),
        (("rear-hook", "kick"), "line 8, exercises: 'kick' is unknown."),
        (("rear-hook", "wall-press"), "line 8, exercises: some are measured and some timed"),
        (('["straight", "rear-hook"]', "[]"), "line 8, exercises: [] will not do"),
        (("sets = 2", 'order = "any"'), "line 11, order: there is no such field."),
        (("sets = 2", 'effort = "hard"'), "line 11, effort: 'hard' will not do"),
        (("sets = 2", 'effort = "submaximal"'), "line 11, effort: a submaximal effort and a"),
        (("sets = 2", 'target = "band of best"'), "line 11, target: a band of best needs"),
        (("sets = 2", 'target = "fixed"'), "line 11, target: a fixed target needs"),
        (("sets = 2", "band_percent = [70, 80]"), "line 11, band_percent: goes with target"),
        (("sets = 2", "band_percent = [80, 70]"), "line 11, band_percent: the lower edge"),
        (("sets = 2", "fixed_band_N = [80, 70]"), "line 11, fixed_band_N: the lower edge"),
        (("sets = 2", "everyone = true"), "line 11, everyone: there is one wall"),
        (
            ('["straight", "rear-hook"]', '["wall-press"]\nfixed_N = 3'),
            "line 6, target: what is only timed has no target",
        ),
        (("[[block]]", "[block]"), "line 1, block: one [[block]] or more"),
        (("seconds = 3", "seconds = 3 3"), "line 9, column 13: this is no TOML"),
        (("sets = 2", 'cue = "'), "line 11, column 8: this is no TOML"),
    ],
)
def test_a_mistake_is_named_by_line_and_field(change: tuple[str, str], fault: str) -> None:
    text = GOOD.replace(*change, 1)
    assert text != GOOD
    assert [one for one in faults_of(text) if one.startswith(fault)]


def test_a_plan_without_blocks_and_one_that_breaks_off_are_refused() -> None:
    assert faults_of('name = "a"')[0].startswith("line 1, block: one [[block]]")
    assert "no TOML" in faults_of('name = """a')[0]


def test_all_mistakes_are_named_at_once_in_the_order_of_the_file() -> None:
    text = GOOD.replace("tuesday", "T") + GOOD[GOOD.index("\n[[block]]") :].replace("3", "0")
    found = faults_of(text)
    assert [one.split(":")[0] for one in found] == [
        "line 1, name",
        "line 14, name",
        "line 16, seconds",
    ]
    assert "stands in line 7 already" in found[1]


def test_blocks_of_a_circuit_have_the_same_sets_and_stand_together() -> None:
    block = '[[block]]\nname = "{}"\nexercises = ["hook"]\nseconds = 3\nsets = {}\n{}\n'
    circuit = 'circuit = "c"'
    head = 'name = "a"\n'
    uneven = head + block.format("A", 1, circuit) + block.format("B", 2, circuit)
    assert faults_of(uneven) == ("line 12, sets: all blocks of the circuit 'c' have the same.",)
    apart = head + "".join(
        block.format(name, 1, words)
        for name, words in (("A", circuit), ("B", ""), ("C", circuit))
    )
    assert "have to follow one another" in faults_of(apart)[0]


def test_ten_thousand_lines_of_mistakes_are_all_named() -> None:
    block = '[[block]]\nname = "b{}"\nexercises = ["kick"]\nseconds = 0\n'
    text = 'name = "long"\n' + "".join(block.format(i) for i in range(2500))
    found = faults_of(text)
    assert found[0] == "line 2, block: one [[block]] or more, 60 at most has to be there."
    at = [int(one.split(",")[0].removeprefix("line ")) for one in found[1:]]
    assert at == [4 * i + line for i in range(2500) for line in (4, 5)]  # kick, 0 seconds
    wide = 'name = "wide"\n' + "".join(f"x{i} = 1\n" for i in range(10_000))
    assert len(faults_of(wide)) == 10_001


@given(st.text(max_size=300))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    refuse_or_read(text)


def refuse_or_read(text: str) -> None:
    """Read a plan; what is wrong with it has to be said line by line."""
    faults: tuple[str, ...] = ()  # none of them where it is read
    named: list[str] = []
    try:
        read_plan(text, EXERCISES)
    except FaultyPlanError as error:
        faults = error.faults
        named = [one for one in faults if one.startswith(("line ", "the end of the file"))]
    assert len(named) == len(faults)


@given(
    st.sampled_from(BUILT_IN),
    st.integers(0, 60),
    st.text(alphabet='abc="[]#\n 0123.', max_size=12),
)
def test_a_damaged_plan_is_read_or_refused_in_words(name: str, at: int, put: str) -> None:
    lines = built_in(name).splitlines()
    at %= len(lines)
    refuse_or_read("\n".join([*lines[:at], put, *lines[at + 1 :]]))


def test_there_are_no_other_built_in_plans() -> None:
    with pytest.raises(PlanError, match="There are warm-up"):
        built_in("leg-day")


# The doses of the built-in plans: common practice, no source.


@pytest.mark.parametrize("name", BUILT_IN)
def test_maximal_holds_last_three_seconds_and_submaximal_ones_five(name: str) -> None:
    for block in plan_named(name).block:
        if is_timed(block, EXERCISES):
            continue
        assert block.seconds == (3.0 if block.effort is Effort.MAXIMAL else 5.0)
        assert 10.0 <= block.rest_s <= 30.0
        assert 60.0 <= block.set_rest_s <= 180.0 or block.sets == 1


@pytest.mark.parametrize("name", ["speed-day", "taper-day"])
def test_contrast_sets_are_a_band_round_then_each_punch_three_times_over(name: str) -> None:
    plan = plan_named(name)
    ((band, punches),) = circuits(plan)
    assert band.exercises == ("band-shadow-boxing",)
    assert (band.sets, punches.sets) == (3, 3)
    keys = [turn.exercise.key for turn in turns_of(plan, ("a",), EXERCISES)]
    one_set = [
        "band-shadow-boxing",
        *(
            f"{side}-{punch}"
            for punch in ("straight", "hook", "uppercut")
            for side in ("lead", "rear")
        ),
    ]
    assert keys == 3 * one_set


def test_fight_day_is_one_set_over_every_punch_and_three_only_for_those_used_to_it() -> None:
    plan = plan_named("fight-day")
    new = with_sets(plan, is_used_to_it=False)
    used = with_sets(plan, is_used_to_it=True)
    assert [len(turns_of(one, ("a",), EXERCISES)) for one in (new, used)] == [6, 18]
    check_dose(new, is_used_to_it=False)
    check_dose(used, is_used_to_it=True)
    with pytest.raises(PlanError, match="confirm with --beyond-dose"):
        check_dose(used, is_used_to_it=False)
    with pytest.raises(PlanError, match="those used to it is 3"):
        check_dose(with_sets(plan, is_used_to_it=True, sets=4), is_used_to_it=True)
    check_dose(
        with_sets(plan_named("speed-day"), is_used_to_it=False, sets=9), is_used_to_it=False
    )
    assert "Nothing new" in plan.care


def test_the_warm_up_has_five_landmine_punches_a_side_in_three_sets() -> None:
    block = plan_named("warm-up").block[0]
    assert block.exercises == ("landmine-hold",)
    assert (block.reps_per_side, block.sets) == (5, 3)
    assert is_timed(block, EXERCISES)


def test_test_day_asks_for_a_best_and_then_for_a_band_of_it() -> None:
    first, then = plan_named("test-day").block
    assert 3 <= first.reps_per_side <= 5
    assert (then.effort, then.band_percent) == (Effort.SUBMAXIMAL, (70.0, 80.0))


TWO = Plan(
    name="two",
    block=(
        Block(name="a", exercises=("hook",), seconds=3.0, sets=2),
        Block(name="b", exercises=("rear-straight",), seconds=3.0),
    ),
)


def test_athlete_by_athlete_and_in_rotation() -> None:
    def order(plan: Plan) -> str:
        return "".join(turn.athlete for turn in turns_of(plan, ("A", "B"), EXERCISES))

    assert order(TWO) == "AAAABBBB" + "AB"
    rotation = msgspec.structs.replace(TWO, order=Order.ROTATION)
    assert order(rotation) == "AABBAABB" + "AB"


def test_turns_are_numbered_from_one_without_a_hole() -> None:
    turns = turns_of(plan_named("taper-day"), [f"a{i}" for i in range(6)], EXERCISES)
    assert [turn.number for turn in turns] == list(range(1, 127))
    joined = [turn.number for turn in turns if turn.is_joined]
    assert len(joined) == 3 * 5
    assert turns[0].place == 1


def test_nobody_and_too_many_are_refused() -> None:
    with pytest.raises(PlanError, match="nobody"):
        turns_of(TWO, (), EXERCISES)
    many = [str(i) for i in range(MOST_TURNS)]
    with pytest.raises(PlanError, match="more than a day holds"):
        turns_of(TWO, many, EXERCISES)


def test_the_expected_length_adds_up() -> None:
    block = Block(name="a", exercises=("rear-hook",), seconds=3.0, reps_per_side=2, rest_s=20.0)
    plan = Plan(name="one", block=(block,), get_set_s=2.0, result_s=4.0)
    turns = turns_of(plan, ("A",), EXERCISES)
    # get set 2, count 3, begin 0.3, hold 3, let go 0.7; rest 20 from there; the same; result 4
    assert expected_s(plan, turns) == pytest.approx(9.0 + 20.0 + 9.0 + 4.0)
    assert length_words(42.0) == "about 42 seconds"
    assert length_words(42.0 * 60.0) == "about 42 minutes"


def test_what_begins_by_itself() -> None:
    turns = turns_of(plan_named("taper-day"), ("A",), EXERCISES)
    for mode, expected in (
        (Mode.COACH, [False, False]),
        (Mode.ROUNDS, [True, True]),
        (Mode.ATHLETE, [True, False]),
    ):
        plan = msgspec.structs.replace(plan_named("taper-day"), mode=mode)
        assert [begins_by_itself(plan, turn) for turn in turns[:2]] == expected


def test_what_everybody_does_at_once_takes_its_time_once() -> None:
    plan = msgspec.structs.replace(plan_named("taper-day"), change_s=0.0)
    band = Plan(name="band", block=(msgspec.structs.replace(plan.block[0], sets=1),))
    one, six = (
        expected_s(band, turns_of(band, [str(i) for i in range(n)], EXERCISES)) for n in (1, 6)
    )
    assert one == six
