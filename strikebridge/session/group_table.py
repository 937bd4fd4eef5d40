"""The state table of a group session, with what stands behind it.

What happens at the wall is one stage after the other. A stage ends by the clock (DUE), by
something that is pressed, or by something that the wall says of itself.

| stage | shows | ends by itself when |
| --- | --- | --- |
| REST | whose turn is next, seconds of rest | athlete rested, wall changed over |
| READY | the name, get set | hands free after `get_set_s`; else a key or the push begins it |
| COUNT_IN | three, two, one | the count is over: go |
| HOLD | number and seconds | the rep has come; nobody pushed: hold + `NO_SHOW_S` |
| RESULT | peak, one sentence | after `result_s` |
| DRILL | seconds of what is only timed | they are over |
| PAUSED | nothing goes on | never: a key |
| LOST | the board is away | never: the board is back |
| OVER | nothing is planned any more | never |

A completed rep is never lost: in HOLD and COUNT_IN it belongs to the turn (a push during the
count-in is a false start), anywhere else it is an extra one that nobody planned, and is handed
on as that. One that was cut off, by a plug that was pulled or by the end of the stream, is an
extra one as well, and the turn comes again.

Of two things at the same moment keys are heard first, then the rep, then the clock. What is not
in the table changes nothing: an empty cell is a decision, and the tests name each of them.

- A pause during a push waits for the push: it begins after the result. One that is pressed
  while the board is away begins when it is back.
- STOP calls off what is under way and waits for a key; where nothing is, it is a pause, for a
  presenter clicker has no more than three keys.
- REDO takes the newest result back and lets that turn come again; under way it begins anew.
- REDO of anything but the newest result of this run is OLDER: it was done before the session
  broke off, or the newest was stopped for pain. It pauses and names what would be taken back;
  only REDO again does so. Every other command means no.
- UNDO takes back what was done last in this run and goes on: a turn with a result is over
  without one; turns that were left out, or ended for pain by a slip, come again.
- PAIN ends the exercise for that athlete for the whole session.
- After an overload nothing goes on by itself until a key says so.
- A board that is lost takes a turn back to its beginning; what was done before stays done. What
  is only timed needs no board and goes on.
- A push that was called off, begun anew or cut off by a lost board is an extra one, however
  late it ends, and has to be let go before another one begins a turn.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.glance import Phase

if TYPE_CHECKING:
    from collections.abc import Mapping


class Stage(StrEnum):
    """Where a session is."""

    REST = "rest"
    READY = "ready"
    COUNT_IN = "count-in"
    HOLD = "hold"
    RESULT = "result"
    DRILL = "drill"
    PAUSED = "paused"
    LOST = "lost"
    OVER = "over"


class Input(StrEnum):
    """What may happen; up to PAIN a coach can press it."""

    GO = "go"
    REDO = "redo"
    STOP = "stop"
    SKIP = "skip"
    SWAP = "swap"
    PAUSE = "pause"
    UNDO = "undo"
    PAIN = "pain"
    OVERLOAD = "overload"
    LOST = "lost"
    BACK = "back"
    PUSH = "push"
    REP = "rep"
    DUE = "due"
    OLDER = "redo of what is not the newest result of this run"


COMMANDS = frozenset(list(Input)[: list(Input).index(Input.OVERLOAD)])
"""What a coach can press."""


class Do(StrEnum):
    """What the conductor does about it."""

    GET_SET = "call the athlete to the wall"
    COUNT_IN = "count in"
    BEGIN = "say go"
    FOLLOW = "follow the push"
    FINISH = "count the rep"
    EXTRA = "hand the rep on as an extra one"
    NO_SHOW = "say that nobody pushed"
    DRILLED = "log what was timed"
    NEXT = "go on to the next turn"
    NEXT_NOW = "go on to the next turn and count in"
    AGAIN = "begin this turn anew"
    RETAKE = "take the newest result back and do that turn again"
    NAME = "pause, and name what a redo would take back"
    CALL_OFF = "call off what is under way"
    SKIP = "leave this turn out"
    SWAP = "let the next athlete go first"
    PAUSE = "pause"
    RESUME = "go on"
    UNDO = "take back what was done last"
    PAIN = "end this exercise for this athlete"
    BREAK = "wait for a key before anything goes on"
    LOSE = "wait for the board"
    GO_ON = "go on, the board is back"


_ANY_TIME = {
    Input.SKIP: Do.SKIP,
    Input.SWAP: Do.SWAP,
    Input.UNDO: Do.UNDO,
    Input.PAIN: Do.PAIN,
    Input.OVERLOAD: Do.BREAK,
}
_BETWEEN = {
    **_ANY_TIME,
    Input.REDO: Do.RETAKE,
    Input.OLDER: Do.NAME,
    Input.STOP: Do.PAUSE,
    Input.PAUSE: Do.PAUSE,
    Input.LOST: Do.LOSE,
    Input.REP: Do.EXTRA,
}
_UNDER_WAY = {
    **_ANY_TIME,
    Input.REDO: Do.AGAIN,
    Input.STOP: Do.CALL_OFF,
    Input.PAUSE: Do.PAUSE,
    Input.LOST: Do.LOSE,
    Input.REP: Do.FINISH,
}

TABLE: Mapping[Stage, Mapping[Input, Do]] = {
    Stage.REST: {**_BETWEEN, Input.GO: Do.COUNT_IN, Input.DUE: Do.GET_SET},
    Stage.READY: {
        **_BETWEEN,
        Input.GO: Do.COUNT_IN,
        Input.DUE: Do.COUNT_IN,
        Input.PUSH: Do.FOLLOW,
    },
    Stage.COUNT_IN: {**_UNDER_WAY, Input.DUE: Do.BEGIN},
    Stage.HOLD: {**_UNDER_WAY, Input.DUE: Do.NO_SHOW},
    Stage.RESULT: {
        **_BETWEEN,
        Input.GO: Do.NEXT_NOW,
        Input.DUE: Do.NEXT,
        Input.SKIP: Do.NEXT,
    },
    Stage.DRILL: {
        **{key: do for key, do in _UNDER_WAY.items() if key is not Input.LOST},
        Input.DUE: Do.DRILLED,
        Input.REP: Do.EXTRA,
    },
    Stage.PAUSED: {
        **_BETWEEN,
        Input.GO: Do.RESUME,
        Input.PAUSE: Do.RESUME,
        Input.STOP: Do.RESUME,
    },
    Stage.LOST: {
        **{key: do for key, do in _ANY_TIME.items() if key is not Input.OVERLOAD},
        Input.STOP: Do.PAUSE,
        Input.PAUSE: Do.PAUSE,
        Input.BACK: Do.GO_ON,
        Input.REP: Do.EXTRA,
    },
    Stage.OVER: {
        Input.REDO: Do.RETAKE,
        Input.OLDER: Do.NAME,
        Input.UNDO: Do.UNDO,
        Input.REP: Do.EXTRA,
    },
}
"""Stage -> what happens -> what is done; a missing cell changes nothing."""

PHASES: Mapping[Stage, Phase] = {
    Stage.REST: Phase.REST,
    Stage.READY: Phase.READY,
    Stage.COUNT_IN: Phase.COUNT_IN,
    Stage.HOLD: Phase.HOLD,
    Stage.RESULT: Phase.RESULT,
    Stage.DRILL: Phase.REST,
    Stage.PAUSED: Phase.READY,
    Stage.LOST: Phase.READY,
    Stage.OVER: Phase.REST,
}
"""Stage -> what the wall shows of it."""
