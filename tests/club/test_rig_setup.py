"""What tells one set-up from another."""

import re
from dataclasses import fields, replace

import pytest

from strikebridge.club.rig_setup import Cover, Feet, Fist, Pad, RigSetup

WHOLE = RigSetup(1.4, 0.55, Pad.BALL, Cover.WRAP, Fist.FIST, 180.0, Feet.SIDE_ON)
OTHER = RigSetup(1.45, 0.6, Pad.CUSHION, Cover.BARE, Fist.PALM, 90.0, Feet.SQUARE)


def test_the_key_is_the_same_for_ever() -> None:
    # stored: a changed key would part an athlete from the best reps at the same set-up
    assert WHOLE.key == "fc0dcc33cd8976ec"
    assert RigSetup().key == "f3881a271ccfb3d0"
    assert re.fullmatch("[0-9a-f]{16}", WHOLE.key)


def test_a_set_up_typed_another_way_is_the_same() -> None:
    assert replace(WHOLE, pad_height_m=1.4000004, distance_m=0.55).key == WHOLE.key


@pytest.mark.parametrize("name", [field.name for field in fields(RigSetup)])
def test_each_part_matters(name: str) -> None:
    assert replace(WHOLE, **{name: getattr(OTHER, name)}).key != WHOLE.key
    assert replace(WHOLE, **{name: None}).key != WHOLE.key
