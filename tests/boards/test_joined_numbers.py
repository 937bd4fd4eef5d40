"""Two numbers that ran together are seen, and a true leap is not taken for one."""

import numpy as np
import pytest

from strikebridge.boards.bare_integers import BareIntegersDecoder
from strikebridge.boards.joined_numbers import JoinedNumbers
from strikebridge.samples import Chunk


@pytest.mark.parametrize("base", [84_213, -321_000, 52, 1234, 8_388_700], ids=str)
def test_a_lost_line_feed_makes_no_reading(base: int) -> None:
    chance = np.random.default_rng(3)
    numbers = [base + int(step) for step in chance.normal(0.0, abs(base) ** 0.2, 200)]
    lines = [b"%d" % abs(n) if base > 0 else b"%d" % -abs(n) for n in numbers]
    text = b"torn\n"
    kept: list[float] = []
    for place, line in enumerate(lines):
        is_joined = place % 20 == 15
        text += line + (b"" if is_joined else b"\n")
        if not is_joined and place % 20 != 16:
            kept.append(float(line))
    decoder = BareIntegersDecoder()
    found = [row[0] for b in decoder.feed([Chunk("x", 0, text)]) for row in b.counts.tolist()]
    assert found == kept
    assert decoder.unreadable == 10


@pytest.mark.parametrize(
    "values",
    [
        [0, 1, 0, 0, 1213, 1412, 15_000],
        [55, 60, 58, 61, 500_000],
        [-3, 2, 0, 123_456, 8_388_607],
        [84_213, 84_190, 8_388_607],
        [5_000_000, 0.5, 1.0],
    ],
)
def test_a_leap_is_a_leap(values: list[float]) -> None:
    looked = JoinedNumbers()
    kept = [looked.keep(np.array([float(value)])) for value in values]
    assert all(one is None or one.all() for one in kept)


def test_the_first_number_is_believed() -> None:
    assert JoinedNumbers().keep(np.array([8_421_384_198.0])) is None
