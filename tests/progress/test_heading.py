"""Up, flat or fading: a change that is merely not real is not flat."""

from __future__ import annotations

import pytest

from strikebridge.progress.change import Change
from strikebridge.progress.estimate import Estimate
from strikebridge.progress.heading import Heading, heading


@pytest.mark.parametrize(
    ("value", "u", "worthwhile", "word"),
    [
        (100.0, 10.0, None, Heading.UP),
        (-100.0, 10.0, None, Heading.FADING),
        (18.0, 10.0, None, Heading.LIKELY_UP),
        (-18.0, 10.0, None, Heading.LIKELY_FADING),
        (5.0, 10.0, None, Heading.FLAT),  # 5 % of 1000 N are 50 N, the interval ends at 25 N
        (5.0, 10.0, 24.0, Heading.CANNOT_TELL),
        (-5.0, 10.0, 24.0, Heading.CANNOT_TELL),
        (5.0, 10.0, 26.0, Heading.FLAT),
        (5.0, 100.0, None, Heading.CANNOT_TELL),
    ],
)
def test_the_word(value: float, u: float, worthwhile: float | None, word: Heading) -> None:
    change = Change(Estimate(value, "N", u), 1000.0, 1000.0 + value, 3, 1)
    assert heading(change, worthwhile) is word


def test_without_a_change_there_is_no_word() -> None:
    assert heading(None) is Heading.TOO_FEW
