"""The walk as a state machine, on a rig of which everything is known."""

from __future__ import annotations

import pytest

from strikebridge.calibration.plate_walk import PlateWalk
from strikebridge.calibration.walk_analysis import analyse_walk
from strikebridge.calibration.walk_setup import WalkSetup
from strikebridge.calibration.walk_view import WalkKey, WalkState
from strikebridge.samples import Quantity
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2
from tests.calibration.walk_scenes import PLATES, Rig, lead

UP_AND_DOWN = 9  # points of one run with four plates


def by_itself(runs: int = 2) -> PlateWalk:
    return PlateWalk(WalkSetup(PLATES, runs=runs, is_hands_free=True))


@pytest.mark.parametrize(
    ("rate_hz", "per_kg", "noise", "step", "quantity"),
    [
        (80.0, 21_474.8, 65.0, 1.0, Quantity.COUNT),
        (10.0, -21_474.8, 65.0, 1.0, Quantity.COUNT),
        (320.0, 200.0, 10.0, 1.0, Quantity.COUNT),
        (2.0, 1.0, 0.01, 0.05, Quantity.KG),
        (80.0, 1.0, 0.0, 0.01, Quantity.KG),
    ],
)
def test_a_walk_goes_by_itself_and_finds_the_gain(
    rate_hz: float, per_kg: float, noise: float, step: float, quantity: Quantity
) -> None:
    rig = Rig(rate_hz=rate_hz, per_kg=per_kg, noise=noise, step=step, zero=step * 8000)
    walk = PlateWalk(WalkSetup(PLATES, is_hands_free=True), quantity)
    lead(walk, rig, block=max(1, int(rate_hz / 20)))
    assert walk.state is WalkState.DONE
    assert len(walk.points) == 2 * UP_AND_DOWN
    assert not walk.remarks
    assert walk.step == pytest.approx(step)
    result = analyse_walk(walk.walk_input())
    # what creeps in within a step is a part of the gain of a held load
    gain = per_kg / STANDARD_GRAVITY_M_PER_S2
    assert result.fit.coefficients[1] == pytest.approx(gain, rel=1.5e-3)


def test_a_key_ends_it_and_the_points_are_kept() -> None:
    walk, rig = PlateWalk(WalkSetup(PLATES)), Rig()
    rig.hear(walk.press(WalkKey.NEXT))
    while len(walk.points) < 3:
        rig.hear(walk.feed([rig.block(8)]))
    assert not walk.can_finish
    walk.press(WalkKey.QUIT)
    assert walk.state is WalkState.CANCELLED
    assert len(walk.points) == 3
