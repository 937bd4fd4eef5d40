"""The coach's desk of a group: who comes when, from the turns that are still to come."""

from __future__ import annotations

from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.lineup import places
from strikebridge.session.plan import Block, Mode, Order, Plan
from strikebridge.session.running_order import RunningOrder
from strikebridge.session.turns import turns_of

BLOCK = Block(name="straights", exercises=("straight",), seconds=3.0, rest_s=5.0)


def test_the_order_follows_the_turns() -> None:
    club = saltmarsh_quay()
    athletes = {one.id: one for one in club}
    plan = Plan(name="trial", block=(BLOCK,), mode=Mode.ROUNDS, order=Order.ROTATION)
    turns = turns_of(plan, tuple(athletes), EXERCISES)
    order = RunningOrder(turns, over=set(), stopped=frozenset())
    each = len(turns) // len(club)
    first = places(order.coming, order.over, athletes)
    assert [one.name for one in first] == [one.name for one in club]
    assert [one.is_now for one in first] == [True, *[False] * 5]
    assert [one.is_next for one in first] == [False, True, *[False] * 4]
    assert {(one.done, one.planned) for one in first} == {(0, each)}
    order.finish()
    after = places(order.coming, order.over, athletes)
    by_name = {one.name: one for one in after}
    assert by_name[club[0].name].done == 1
    assert by_name[club[0].name].planned == each
    while order.current is not None:
        order.finish()
    assert places(order.coming, order.over, athletes) == ()
