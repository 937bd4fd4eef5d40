"""A tenth of the campaign `python -m tests.boards.fuzz`."""

import pytest

from strikebridge.boards import BOARDS
from tests.boards.fuzz import Oracle, captured, damage_sketches, fuzz

N = 1_000_000


@pytest.mark.slow
@pytest.mark.timeout(180)
@pytest.mark.parametrize("shape", BOARDS)
def test_a_decoder_bears_a_million_damaged_bytes(shape: str) -> None:
    row = fuzz(shape, shape, captured(shape), N, 2)
    assert row.faults == []
    assert row.fed >= N
    assert row.out > 1000


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_every_sketch_bears_it_as_well() -> None:
    rows = damage_sketches(N, 2)
    assert [(row.name, row.faults) for row in rows if row.faults] == []


def test_the_oracle_sees_an_invented_reading() -> None:
    ours, others = Oracle(is_ours=True), Oracle(is_ours=False)
    ours.feed(b"S,1,1025000,84198*611F\nS,2,1037500,84199*0000\n")
    assert ours.allows([84198.0])
    assert not ours.allows([84199.0])
    others.feed(b"HX711 12,5 - 3\n")
    assert all(others.allows([value]) for value in (12.5, 12.0, 5.0, 3.0))
    assert not others.allows([711.0])
