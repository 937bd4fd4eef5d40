"""The result depends on the force and nothing else: not on blocks, offset, strength or time."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from strikebridge.holds import HoldDetector
from strikebridge.samples import Contact, ForceBlock, Hold
from tests.corpus.athlete import Push
from tests.corpus.kit import Kit
from tests.corpus.scenes import SCENES
from tests.corpus.stage import Stage
from tests.holds.blocks import block_of, block_on, cut, part


def run(blocks: list[ForceBlock]) -> list[Hold | Contact]:
    detector = HoldDetector()
    found: list[Hold | Contact] = []
    for block in blocks:
        found += detector.feed(block)
    return found + detector.finish()


def facts(found: list[Hold | Contact]) -> list[object]:
    return [
        x
        if isinstance(x, Contact)
        else (
            x.number,
            x.onset_s,
            x.release_s,
            x.level_N,
            x.baseline_N,
            x.noise_N,
            x.u_zero_N,
            x.lost,
            x.onset_sure,
            x.force.force_N.tobytes(),
            x.force.number.tobytes(),
        )
        for x in found
    ]


@pytest.mark.parametrize("name", sorted(SCENES))
def test_any_block_size_gives_the_same_to_the_last_bit(name: str) -> None:
    block = part(block_on(SCENES[name](31)), 0, 4000)
    whole = facts(run([block]))
    assert whole
    for size in (1, 7, 333):
        assert facts(run(cut(block, size))) == whole


@given(st.lists(st.integers(1, 400), min_size=1, max_size=30))
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_uneven_cuts_give_the_same(sizes: list[int]) -> None:
    block = _SMALL
    blocks = []
    at = 0
    for size in sizes:
        blocks.append(part(block, at, at + size))
        at += size
    blocks.append(part(block, at, None))
    assert facts(run(blocks)) == facts(run([block]))


def small() -> ForceBlock:
    kit = Kit(80.0, glitch_share=0.004, loss_share=0.02, offset_counts=1e6)
    stage = Stage(np.random.default_rng(5), kit)
    stage.wait(1.5, 1.5)
    stage.push(Push(400.0, 2.0))
    stage.wait(1.5, 1.5)
    stage.lean_and_push(60.0, 1.5, Push(300.0, 1.5))
    stage.wait(1.5, 1.5)
    return block_on(stage)


_SMALL = small()


def plain(scale: float = 1.0) -> ForceBlock:
    stage = Stage(np.random.default_rng(6), Kit(80.0, noise_N=0.0))
    stage.wait(1.5, 1.5)
    stage.push(Push(300.0, 2.0))
    stage.wait(1.0, 1.0)
    stage.tap(120.0, 0.2)
    stage.wait(1.5, 1.5)
    stage.push(Push(200.0, 1.0, rise="ramp"))
    stage.wait(1.0, 1.0)
    block = block_on(stage)
    quiet = np.random.default_rng(2).normal(0.0, 0.2, len(block))
    return block_of(block.time_s, scale * block.force_N + quiet, 80.0)


@given(st.floats(-8e6, 8e6))
@settings(max_examples=15, deadline=None)
def test_the_offset_does_not_matter(offset_N: float) -> None:
    block = plain()
    moved = block_of(block.time_s, block.force_N + offset_N, 80.0)
    for a, b in zip(run([block]), run([moved]), strict=True):
        assert type(a) is type(b)
        if isinstance(a, Hold) and isinstance(b, Hold):
            assert b.onset_s == pytest.approx(a.onset_s, abs=1e-4)
            assert b.release_s == pytest.approx(a.release_s, abs=1e-5)
            assert b.level_N == pytest.approx(a.level_N, abs=1e-4)


@given(st.floats(0.25, 6.0))
@settings(max_examples=15, deadline=None)
def test_the_same_holds_are_found_at_any_strength(scale: float) -> None:
    found = [x for x in run([plain(scale)]) if isinstance(x, Hold)]
    usual = [x for x in run([plain()]) if isinstance(x, Hold)]
    assert [x.number for x in found] == [1, 2]
    for a, b in zip(usual, found, strict=True):
        assert b.level_N == pytest.approx(scale * a.level_N, rel=0.01, abs=1.0)
        assert b.release_s == pytest.approx(a.release_s, abs=0.02)


@given(st.floats(0.0, 1e5), st.integers(0, 10**7))
@settings(max_examples=15, deadline=None)
def test_a_later_clock_shifts_times_and_nothing_else(later_s: float, first: int) -> None:
    block = plain()
    late = block_of(block.time_s + later_s, block.force_N, 80.0, block.number + first)
    for a, b in zip(run([block]), run([late]), strict=True):
        assert type(a) is type(b)
        if isinstance(a, Hold) and isinstance(b, Hold):
            assert b.onset_s - later_s == pytest.approx(a.onset_s, abs=1e-6)
            assert b.level_N == a.level_N
            assert np.array_equal(b.force.force_N, a.force.force_N)
