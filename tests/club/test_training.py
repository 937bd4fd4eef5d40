"""Where a session can be taken up again, and what an exercise may be called."""

from datetime import UTC, datetime

import pytest

from strikebridge.club.exercise import key_fault
from strikebridge.club.training import Closing, ResumePoint, SessionRecord, new_id

SESSION = SessionRecord(new_id(), "speed-day", "", (), 4, datetime(2026, 3, 1, tzinfo=UTC))


def point(done: set[int], closed: dict[int, Closing]) -> ResumePoint:
    return ResumePoint(SESSION, frozenset(done), closed, {})


def test_the_next_turn_is_the_first_that_is_neither_done_nor_closed() -> None:
    assert point(set(), {}).next_turn == 1
    assert point({1, 3}, {}).next_turn == 2
    assert point({1, 3}, {2: Closing.SKIPPED}).next_turn == 4
    assert point({1, 3}, {2: Closing.SKIPPED, 4: Closing.PAIN}).next_turn is None


@pytest.mark.parametrize("key", ["rear-straight", "press2", "a"])
def test_a_key_will_do(key: str) -> None:
    assert key_fault(key) == ""


@pytest.mark.parametrize("key", ["", "Rear", "rear straight", "-a", "a--b", "ü"])
def test_what_is_no_key_is_said(key: str) -> None:
    assert "no key" in key_fault(key)
