"""A killed session goes on where it was; `python -m tests.session_kills --n 50` for more."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from strikebridge.club.training import RepRecord
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.plan import Block, Plan
from strikebridge.session.turns import turns_of
from tests.session_kills import Campaign, Kill, Standing, end_faults, judge

PLAN = """\
name = "short"
mode = "rounds"
order = "rotation"
get_set_s = 1
result_s = 1
change_s = 1

[[block]]
name = "Band"
exercises = ["band-shadow-boxing"]
seconds = 5
everyone = true

[[block]]
name = "Rear"
exercises = ["rear-straight"]
seconds = 2
rest_s = 2
"""
WHOLE_BYTES = 700_000  # of a recording of all of it
KILLS = 5  # a tenth of the full run


@pytest.mark.slow
@pytest.mark.timeout(300)
def test_a_killed_session_goes_on_at_the_right_rep(tmp_path: Path) -> None:
    (tmp_path / "short.toml").write_text(PLAN)
    campaign = Campaign(tmp_path, str(tmp_path / "short.toml"))
    for _ in range(KILLS):
        campaign.kill_once(2 * WHOLE_BYTES // KILLS)
    campaign.finish()
    assert campaign.met > 0
    assert campaign.faults == []


def a_standing(*attempts: tuple[int, int, bool], next_turn: int | None) -> Standing:
    """A session of two athletes and four turns, of which so much is on record."""
    block = Block(name="a", exercises=("wall-press",), seconds=3.0, sets=2)
    turns = turns_of(Plan(name="trial", block=(block,)), ("a1", "b2"), EXERCISES)
    at = datetime(2026, 3, 1, tzinfo=UTC)
    reps = [
        RepRecord(
            "s", turn, turns[turn - 1].athlete, "wall-press", turns[turn - 1].set_number, 1, at,
            attempt, is_kept=is_kept,
        )
        for turn, attempt, is_kept in attempts
    ]  # fmt: skip
    return Standing("s", turns, {"a1": "A", "b2": "B"}, tuple(reps), next_turn)


BEFORE = a_standing((1, 1, True), next_turn=2)
KILLED = Kill("1 B", "go", frozenset({2}), frozenset({2, 3}), began=2, is_over=False)


def test_the_campaign_finds_what_is_lost_twice_or_in_the_wrong_place() -> None:
    good = a_standing((1, 1, True), (2, 1, True), next_turn=3)
    found = judge(BEFORE, KILLED, good)
    assert not found.is_broken
    assert found.again == {3}
    lost = a_standing((1, 1, True), next_turn=2)
    assert judge(BEFORE, KILLED, lost).lost == {2}
    gone = a_standing((2, 1, True), next_turn=3)
    assert judge(BEFORE, KILLED, gone).lost == {1}
    taken_back = a_standing((1, 1, True), (2, 1, False), next_turn=2)
    assert judge(BEFORE, KILLED, taken_back).lost == {2}
    kept_twice = a_standing((1, 1, True), (2, 1, True), (2, 2, True), next_turn=3)
    assert judge(BEFORE, KILLED, kept_twice).twice == {2}
    same_twice = a_standing((1, 1, True), (2, 1, True), (2, 1, False), next_turn=3)
    assert judge(BEFORE, KILLED, same_twice).twice == {2}
    assert judge(BEFORE, replace(KILLED, began=1), good).wrong
    assert judge(None, replace(KILLED, began=2), good).wrong
    assert judge(BEFORE, KILLED, a_standing((1, 1, True), (2, 1, True), next_turn=2)).wrong
    assert judge(None, KILLED, None).lost == {2}


def test_a_session_that_ended_is_held_against_its_plan() -> None:
    whole = [(turn, 1, True) for turn in (1, 2, 3, 4)]
    assert end_faults(a_standing(*whole, next_turn=None)) == []
    assert len(end_faults(a_standing(*whole, next_turn=2))) == 1
    assert end_faults(a_standing(*whole[1:], next_turn=None)) == ["turn 1 is not there"]
    mixed = a_standing(*whole, next_turn=None)
    moved = replace(mixed, reps=(replace(mixed.reps[0], athlete="b2"), *mixed.reps[1:]))
    assert end_faults(moved) == ["turn 1 is another one's"]
