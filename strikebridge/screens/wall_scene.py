"""Which scene stands on the wall: a phase of free reps, or where a session of a group is.

One scene at a time, and in it one thing that is biggest. What may not be missed comes first: a
question to the coach, a stop for pain, a board that is lost.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.glance import Phase
from strikebridge.session.group_table import Stage

if TYPE_CHECKING:
    from strikebridge.glance import Glance


class Scene(StrEnum):
    """What the wall shows."""

    WAITING = "waiting"
    READY = "ready"
    COUNT_IN = "count-in"
    HOLD = "hold"
    RESULT = "result"
    REST = "rest"
    # where the coach types the force
    TYPING = "typing"
    TYPED_READY = "typed, ready"
    TYPED_HOLD = "typed, hold"
    # in a session of a group
    ASKED = "asked"
    STOPPED = "stopped for pain"
    LOST = "board lost"
    TURN = "turn"
    COUNTED = "counted in"
    OUTCOME = "outcome"
    DRILL = "drill"
    DRILLED = "drilled"
    MISSED = "missed"
    PAUSED = "paused"
    OVER = "over"


WITH_NUMBER = frozenset((Scene.READY, Scene.HOLD, Scene.RESULT, Scene.OUTCOME))
"""Scenes in which the force, or the peak, is the biggest thing."""
WITH_MARKS = frozenset((Scene.READY, Scene.HOLD))
"""Scenes in which the forces at the marks are written."""
WITH_LANE = WITH_NUMBER
"""Scenes in which the block pushes along its lane."""
LATE = frozenset((Scene.RESULT, Scene.OUTCOME))
"""Scenes after a rep, in which the leading edge stays."""
WITH_TRACE = frozenset((Scene.READY, Scene.HOLD, Scene.COUNT_IN, Scene.COUNTED))
"""Scenes with the running trace."""

_TYPED = {Phase.READY: Scene.TYPED_READY, Phase.HOLD: Scene.TYPED_HOLD}
_STAGES = {
    Stage.PAUSED: Scene.PAUSED,
    Stage.LOST: Scene.LOST,  # the board may be back a moment before the session knows
    Stage.OVER: Scene.OVER,
    Stage.REST: Scene.TURN,
    Stage.READY: Scene.TURN,
    Stage.COUNT_IN: Scene.COUNTED,
    Stage.HOLD: Scene.HOLD,
    Stage.RESULT: Scene.OUTCOME,
}


def scene_of(glance: Glance, *, is_asked: bool = False) -> Scene:
    """Choose the scene.

    Args:
        glance: what is known.
        is_asked: True while the coach is asked something.
    """
    if is_asked:
        return Scene.ASKED
    if glance.stage:
        return _of_session(glance)
    if glance.entry is not None:
        return Scene.TYPING
    plain = Scene(glance.phase.value)
    return _TYPED.get(glance.phase, plain) if glance.is_typed else plain


def _of_session(glance: Glance) -> Scene:
    stage = Stage(glance.stage)
    if glance.advice:
        return Scene.STOPPED
    if stage is Stage.DRILL:  # what is only timed needs no board
        return Scene.DRILL
    if glance.phase is Phase.WAITING and stage is not Stage.OVER:
        return Scene.LOST
    if stage is Stage.RESULT and glance.is_timed:
        return Scene.DRILLED
    if stage is Stage.RESULT and glance.peak_N is None and not len(glance.rise.time_s):
        return Scene.MISSED
    is_pushed = stage is Stage.READY and glance.peak_N is not None
    return Scene.HOLD if is_pushed else _STAGES[stage]
