"""The coach's desk of a group: who comes when, from the turns that are still to come."""

from __future__ import annotations

from dataclasses import replace

import msgspec

from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.desk import BREATH
from strikebridge.samples import Effort
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.lineup import EVERYONE, called, follower, notes_of, places
from strikebridge.session.plan import Block, Mode, Order, Plan
from strikebridge.session.running_order import RunningOrder
from strikebridge.session.turns import turns_of

BLOCK = Block(name="straights", exercises=("straight",), seconds=3.0, rest_s=5.0)


def test_the_order_follows_the_turns() -> None:
    club = saltmarsh_quay()
    athletes = {one.id: one for one in club}
    plan = Plan(name="trial", block=(BLOCK,), mode=Mode.ROUNDS, order=Order.ROTATION)
    turns = turns_of(plan, tuple(athletes), EXERCISES)
    order = RunningOrder(turns, over=(), stopped=frozenset())
    each = len(turns) // len(club)
    first = places(order.coming, order.over, {1}, athletes)
    assert [one.name for one in first] == [one.name for one in club]
    assert [one.is_now for one in first] == [True, *[False] * 5]
    assert [one.is_next for one in first] == [False, True, *[False] * 4]
    assert {(one.done, one.planned) for one in first} == {(0, each)}
    order.finish()
    after = places(order.coming, order.over, {1}, athletes)
    by_name = {one.name: one for one in after}
    assert by_name[club[0].name].done == 1
    assert by_name[club[0].name].planned == each
    without = {one.name: one for one in places(order.coming, order.over, set(), athletes)}
    skipped = without[club[0].name]  # over, but nothing was done
    assert (skipped.done, skipped.planned) == (0, each)
    while order.current is not None:
        order.finish()
    assert places(order.coming, order.over, {1}, athletes) == ()


def test_all_together_are_called_so() -> None:
    club = saltmarsh_quay()[:2]
    athletes = {one.id: one for one in club}
    drill = Block(name="band", exercises=("band-shadow-boxing",), seconds=30.0, everyone=True)
    turns = turns_of(Plan(name="trial", block=(BLOCK, drill)), tuple(athletes), EXERCISES)
    assert called(turns[-1], athletes) == EVERYONE
    assert follower(turns[3], turns[-1], athletes) == EVERYONE
    assert follower(turns[-1], turns[0], athletes) == club[0].name


def test_a_note_of_the_coach_is_read_at_the_turn_and_breath_only_where_it_is_hard() -> None:
    (person, *_) = (one for one in saltmarsh_quay() if one.cares)
    person = replace(person, note="Two fingers taped.")
    turns = turns_of(Plan(name="trial", block=(BLOCK,)), (person.id,), EXERCISES)
    care = f"Mind the {next(iter(person.cares)).value}."
    assert notes_of(person, turns[0]) == (care, "Two fingers taped.", BREATH)
    easy = msgspec.structs.replace(BLOCK, effort=Effort.SUBMAXIMAL)
    turns = turns_of(Plan(name="trial", block=(easy,)), (person.id,), EXERCISES)
    assert notes_of(person, turns[0]) == (care, "Two fingers taped.")


def test_who_comes_next_is_named_also_where_it_is_the_same_athlete() -> None:
    ines, ayla = saltmarsh_quay()[:2]
    people = {one.id: one for one in (ines, ayla)}
    block = msgspec.structs.replace(BLOCK, reps_per_side=2, sets=2, set_rest_s=90.0)
    plan = Plan(name="trial", block=(block,), mode=Mode.ROUNDS, order=Order.ATHLETE)
    turns = turns_of(plan, tuple(people), EXERCISES)
    assert [turn.athlete for turn in turns[:8]] == [ines.id] * 8
    assert follower(turns[0], turns[1], people) == "you again, rest 5 s"
    no_rest = msgspec.structs.replace(block, rest_s=0.0)
    assert follower(turns[3], turns[4], people) == "you again, rest 90 s"
    assert follower(turns[7], turns[8], people) == ayla.name
    assert follower(turns[-1], None, people) == ""
    drill = Block(
        name="band", exercises=("band-shadow-boxing",), seconds=9.0, sets=2, everyone=True
    )
    parties = turns_of(Plan(name="drill", block=(drill,)), tuple(people), EXERCISES)
    assert follower(parties[0], parties[2], people) == "all again, rest 90 s"
    assert follower(replace(turns[0], block=no_rest), turns[1], people) == "you again"
