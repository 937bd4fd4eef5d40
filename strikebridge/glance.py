"""What a screen may show at one moment; never made on the Qt thread.

```
pipeline, conductor --Glance--> screens
```

A Glance is frozen and holds everything, so that a screen that is late takes the newest one and
needs nothing else. Numbers carry their unit in the name, as in `samples.py`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from strikebridge.samples import Effort, Floats
from strikebridge.units import ForceUnit


class Phase(StrEnum):
    """What the wall is showing."""

    WAITING = "waiting"  # for the board
    READY = "ready"
    COUNT_IN = "count-in"
    HOLD = "hold"
    RESULT = "result"
    REST = "rest"


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something is wrong with the board, in words.

    Attributes:
        what: what happened.
        advice: what is safe and what to do.
        since_s: how long ago it began [s].
    """

    what: str
    advice: str
    since_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """A stretch of force against time, ready to be drawn.

    Attributes:
        time_s: seconds on the stream's axis, shape (n,).
        force_N: force above the tracked zero [N], shape (n,).
    """

    time_s: Floats
    force_N: Floats


EMPTY_TRACE = Trace(np.empty(0), np.empty(0))


@dataclass(frozen=True, slots=True, eq=False)
class Glance:
    """Everything a screen may show at one moment; immutable, never made on the Qt thread.

    Attributes:
        phase: what the wall shows.
        newest_us: arrival of the newest sample in it, host monotonic clock of the stream [us].
        age_s: age of that sample when the glance was made [s]; infinity before the first.
        stale: True when the age says that `force_N` is no longer the force now.
        athlete: name of whose turn it is; empty without a roster.
        exercise: the punch in words, such as `rear straight`.
        hand: `left`, `right` or empty.
        following: who comes next, a name or `you again`; empty if unknown.
        effort: maximal or submaximal.
        hold_s: prescribed seconds [s].
        rep_number: reps begun in this set.
        rep_total: reps planned in this set, None when free.
        seconds_left: in this phase [s], None where it has no end.
        force_N: force now [N], None when unknown.
        force_u95_N: expanded uncertainty of the force now [N], None when unknown.
        peak_N: largest force of the rep under way or just finished [N].
        peak_u95_N: expanded uncertainty of that peak [N].
        target_N: force to reach [N].
        band_N: edges of the band to stay in [N].
        bricks: share in band of each prescribed second so far, 0 to 1.
        elapsed_s: how much of the prescribed hold is over [s].
        quality_percent: hold quality [%], and its u95 where known.
        quality_u95_percent: expanded uncertainty of the quality [%].
        sentence: one sentence for the athlete.
        change_last_N: change of peak from the last rep [N], and its u95.
        change_last_u95_N: expanded uncertainty of that change [N].
        change_best: `new best`, `level with best` or empty.
        is_snap: None where not measurable.
        trouble: what is wrong, None if all is well.
        remark: one sentence that the coach should know, such as which calibration is used.
        warning: what has to be done before a number can be trusted; empty if all is well.
        strain: how the cell stands against its rating, in words; empty if all is well.
        trace: the last seconds.
        rise: the first half second of the last rise, time counted from onset.
        unit: the coach's unit.
        is_typed: True where the coach types what a plain scale shows; `peak_N` is then the
            hold force.
        entry: what was typed so far, None while no number is asked for.
        entry_unit: unit of that number.
        question: what is asked about the number, empty for nothing.
        stage: where a session is, a word of `session.group_table.Stage`; empty without one.
        set_number: which set it is, 0 without a session.
        set_total: sets planned, None without a session.
        turns_left: turns still to come, this one among them; 0 without a session.
        notes: what the coach is to be reminded of at this turn, and the breath cue.
        cue: the cue given last to this athlete since the rep before.
        turn: number of the turn in its session, from 1; 0 without a session.
        is_timed: True where the turn is only timed and no number is asked for.
        target_from: where the mark or the band comes from, in words.
        last_N: peak of the athlete's last rep that counts [N], None without one.
        advice: what may not be missed before it goes on, and what to do; empty for nothing.
        told: what was done a moment ago because the coach asked for it; empty for nothing.
    """

    phase: Phase
    newest_us: int = 0
    age_s: float = math.inf
    stale: bool = True
    athlete: str = ""
    exercise: str = ""
    hand: str = ""
    following: str = ""
    effort: Effort = Effort.MAXIMAL
    hold_s: float | None = None
    rep_number: int = 0
    rep_total: int | None = None
    seconds_left: float | None = None
    force_N: float | None = None
    peak_N: float | None = None
    peak_u95_N: float | None = None
    target_N: float | None = None
    band_N: tuple[float, float] | None = None
    bricks: tuple[float, ...] = ()
    elapsed_s: float = 0.0
    quality_percent: float | None = None
    quality_u95_percent: float | None = None
    sentence: str = ""
    change_last_N: float | None = None
    change_last_u95_N: float | None = None
    change_best: str = ""
    is_snap: bool | None = None
    trouble: Trouble | None = None
    remark: str = ""
    warning: str = ""
    strain: str = ""
    trace: Trace = EMPTY_TRACE
    rise: Trace = EMPTY_TRACE
    unit: ForceUnit = ForceUnit.KG
    is_typed: bool = False
    entry: str | None = None
    entry_unit: ForceUnit = ForceUnit.KG
    question: str = ""
    force_u95_N: float | None = None
    stage: str = ""
    set_number: int = 0
    set_total: int | None = None
    turns_left: int = 0
    notes: tuple[str, ...] = ()
    cue: str = ""
    turn: int = 0
    is_timed: bool = False
    target_from: str = ""
    last_N: float | None = None
    advice: tuple[str, ...] = ()
    told: str = ""
