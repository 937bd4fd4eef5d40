"""Views of a real walk on an invented rig, one for each thing a window has to show."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from strikebridge.calibration.plate_walk import PlateWalk
from strikebridge.calibration.walk_setup import WalkSetup
from strikebridge.calibration.walk_view import WalkKey, WalkState, WalkView
from strikebridge.glance import Trouble
from tests.calibration.walk_scenes import PLATES, Rig


@lru_cache(maxsize=1)
def walk_views() -> dict[str, WalkView]:
    """Walk once, with one wrong plate on the way, and keep what was to be seen."""
    walk, rig = PlateWalk(WalkSetup(PLATES)), Rig(wrong={11: "1+2+4"}, hand_s=3.0)
    seen: dict[str, WalkView] = {"ready": walk.view()}
    rig.hear(walk.press(WalkKey.NEXT))
    while not walk.has_ended and rig.now_s < 900.0:
        rig.hear(walk.feed([rig.block(8)]))
        view = walk.view()
        name = f"{view.stage.value} {view.state.value}"
        seen.setdefault(name, view)
        if view.state is WalkState.TAKING and view.taking_share > 0.5:
            seen[name] = view
        if view.state is WalkState.QUESTION:
            rig.hear(walk.press(WalkKey.REDO))
        if view.state is WalkState.REVIEW:
            rig.hear(walk.press(WalkKey.NEXT))
    seen["done"] = walk.view()
    some = seen["walk waiting"]
    seen["lost"] = replace(
        some,
        trouble=Trouble(
            "The board at serial:/dev/ttyUSB0 went away.",
            "What was taken so far is safe. Check the plug; I go on by myself.",
            4.0,
        ),
    )
    quit_walk = PlateWalk(WalkSetup(PLATES))
    quit_walk.press(WalkKey.CANCEL)
    seen["cancelled"] = quit_walk.view()
    return seen
