"""The values that pass from stage to stage; every stage knows these and none of its neighbours.

```
board --Chunk--> decoder --CountBlock--> timebase --TimedBlock--> calibration
calibration --ForceBlock--> holds
holds --Hold | Contact--> measures --MeasureValue--> verdict --Verdict--> Rep
```

What of it a screen may show is a `Glance` (`glance.py`).

All are frozen. Those that hold arrays compare by identity (`eq=False`); nobody writes into an
array that has been handed on. Numbers carry their unit in the name; times named `*_us` are
whole microseconds since the start of the stream on the host's monotonic clock, times named
`*_s` are seconds on the stream's own axis (0 = start of the recording).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import IntFlag, StrEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.uint16]


class Flag(IntFlag):
    """What is known against a sample; kept as bits of a uint16 array."""

    CLEAR = 0
    GAP_BEFORE = 1  # at least one sample was lost just before this one
    SATURATED = 2  # the converter stood at its end; the true value lies beyond
    BAD_WORD = 4  # a glitch, not a force; the value is not to be used
    RESTARTED = 8  # the board started anew just before this sample
    EXTRAPOLATED = 16  # above the largest calibrated load
    OVER_RATING = 32  # above what the cell is rated for
    CLOCK_LEAPT = 64  # the board's clock leapt just before this sample, and did not begin anew


class Quantity(StrEnum):
    """What the number on the wire is."""

    COUNT = "count"
    N = "N"
    KG = "kg"
    G = "g"
    LB = "lb"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Chunk:
    """Bytes exactly as they came, and when.

    Attributes:
        board: address of the board.
        arrived_us: arrival, host monotonic clock, since the start of the stream [us].
        data: untouched bytes.
    """

    board: str
    arrived_us: int
    data: bytes


@dataclass(frozen=True, slots=True)
class Event:
    """Something said about the stream that is not a sample; recorded beside the bytes.

    Kinds in use: `prescribed` (effort, hold_s, band_low_N, band_high_N), `go`, `turn` (athlete
    by random id, place, session, turn, exercise, hand, set, rep), `done`, `closed`,
    `taken back`, `reopened` (turn), `redo`, `lost`, `back`, `stopped`, `baud` (as tried next),
    `identity` (what the board says of itself), `calibrated` (the certificate chosen once the
    board was known, as text), `rated` (cell_N), `overload`, `quiet`, `heard`,
    `fault` and `fault_over` (kind: what was wrong with the board), `key` (pressed on a
    Bluetooth button), `sound` (signal, latency_s, u_latency_s, volume: a tone
    was played). Never an athlete's name, never free text.

    Attributes:
        kind: short lower-case word.
        at_us: host monotonic clock since the start of the stream [us].
        detail: plain values that survive JSON.
    """

    kind: str
    at_us: int
    detail: Mapping[str, str | float | int | None] = field(default_factory=dict)


Record = Chunk | Event


@dataclass(frozen=True, slots=True)
class Identity:
    """What a board says of itself.

    Attributes:
        board: name of the board or sketch, one word.
        firmware: version of its firmware.
        converter: name of the analogue-to-digital converter.
        rate_hz: nominal sampling rate [1/s]; the real one may be 3 to 17 % off.
        settling_s: time the converter's filter needs after a step [s], None if unknown.
    """

    board: str
    firmware: str
    converter: str
    rate_hz: float | None
    settling_s: float | None


@dataclass(frozen=True, slots=True, eq=False)
class CountBlock:
    """Readings as decoded, one row a sample, nothing corrected.

    Attributes:
        number: running sample number, shape (n,); a jump by more than 1 counts lost samples.
        counts: readings in the board's own quantity, shape (n, channels).
        arrived_us: arrival of the line's last byte [us], shape (n,), never falling.
        ticks_us: the board's own clock, unwrapped [us], shape (n,), or None where it has none.
        flags: bits of `Flag`, shape (n,).
    """

    number: Ints
    counts: Floats
    arrived_us: Ints
    ticks_us: Ints | None
    flags: Flags

    def __len__(self) -> int:
        return len(self.number)


@dataclass(frozen=True, slots=True, eq=False)
class TimedBlock:
    """Readings with a time each; lost samples are jumps of the number.

    Attributes:
        number: running sample number with the lost ones counted, shape (n,).
        time_s: seconds from the start of the stream, shape (n,), rising.
        counts: readings, shape (n, channels).
        flags: bits of `Flag`, shape (n,).
        rate_hz: the board's real sampling rate as estimated when the block was made [1/s].
    """

    number: Ints
    time_s: Floats
    counts: Floats
    flags: Flags
    rate_hz: float

    def __len__(self) -> int:
        return len(self.number)


@dataclass(frozen=True, slots=True, eq=False)
class ForceBlock:
    """Calibrated force, pushing positive, zero not yet tracked (the detector does that).

    Attributes:
        number: running sample number, shape (n,).
        time_s: seconds from the start of the stream, shape (n,).
        force_N: sum of the cells [N], shape (n,); NaN where flagged BAD_WORD.
        cells_N: each cell [N], shape (n, channels).
        u_own_N: standard uncertainty that is independent from sample to sample, without the
            noise itself (resolution) [N], shape (n,).
        u_common_N: standard uncertainty shared by all that used the same certificate [N], shape
            (n,).
        flags: bits of `Flag`, shape (n,).
        rate_hz: real sampling rate [1/s].
        calibration: id of the certificate, `by hand`, or None where the input already was a
            force.
    """

    number: Ints
    time_s: Floats
    force_N: Floats
    cells_N: Floats
    u_own_N: Floats
    u_common_N: Floats
    flags: Flags
    rate_hz: float
    calibration: str | None
    dof_common: float = math.inf

    def __len__(self) -> int:
        return len(self.number)


class Effort(StrEnum):
    """How hard a hold is meant to be."""

    MAXIMAL = "maximal"
    SUBMAXIMAL = "submaximal"


@dataclass(frozen=True, slots=True)
class Prescription:
    """What the athlete was asked to do.

    Attributes:
        effort: maximal, or submaximal inside a band.
        hold_s: prescribed seconds, or None where nothing was prescribed.
        band_N: lower and upper edge [N] of a submaximal hold, or None.
    """

    effort: Effort = Effort.MAXIMAL
    hold_s: float | None = None
    band_N: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Hold:
    """One held punch as the detector cut it out.

    Attributes:
        number: 1 for the first hold of the stream.
        force: force above the tracked zero, from up to 1.5 s before the onset to at least 0.3 s
            after the release (or to where the stream ended); NaN never occurs, holes are
            bridged.
        onset_s: when the force left its baseline (t0) [s].
        release_s: when it last fell through half its level [s], None if it was never seen.
        level_N: median force over the samples above half the peak [N].
        baseline_N: mean force over the quiet second before the rise [N].
        noise_N: SD of a single reading at rest [N], drift removed.
        u_zero_N: standard uncertainty of the tracked zero [N].
        settling_s: time the converter's filter needs [s], None if unknown.
        lost: samples missing inside the hold.
        onset_sure: False where the onset could not be located (hole, no rest before it).
        go_s: the go signal on the same time axis [s], None without one.
        u_go_s: standard uncertainty of `go_s`, and of how soon it was heard [s].
        sound_latency_s: stated time from `go_s` to when the go was heard [s], 0 where none was
            played.
    """

    number: int
    force: ForceBlock
    onset_s: float
    release_s: float | None
    level_N: float
    baseline_N: float
    noise_N: float
    u_zero_N: float
    settling_s: float | None
    lost: int = 0
    onset_sure: bool = True
    go_s: float | None = None
    u_go_s: float = 0.0
    sound_latency_s: float = 0.0

    @property
    def complete(self) -> bool:
        """Say whether the release was seen."""
        return self.release_s is not None


@dataclass(frozen=True, slots=True)
class Contact:
    """A touch that is no hold, and why.

    Attributes:
        start_s: start [s].
        end_s: end [s].
        peak_N: largest force above the tracked zero [N].
        reason: plain words.
    """

    start_s: float
    end_s: float
    peak_N: float
    reason: str


@dataclass(frozen=True, slots=True)
class Gap:
    """Samples that never came.

    Attributes:
        start_s: time of the last sample before the gap [s].
        end_s: time of the first one after it [s].
        lost: how many are missing.
    """

    start_s: float
    end_s: float
    lost: int


class Status(StrEnum):
    """How far a value may be trusted."""

    OK = "ok"
    COARSE = "coarse"
    WITHHELD = "withheld"


@dataclass(frozen=True, slots=True)
class MeasureValue:
    """One measure of one hold.

    Attributes:
        name: stable key, such as `peak_force`.
        value: in `unit`, None where withheld.
        unit: UCUM code.
        u_own: standard uncertainty, independent from rep to rep, in `unit`; None where
            withheld.
        u_common: standard uncertainty shared by all values of the same certificate, in `unit`.
        certificate: id of that certificate, None without one.
        dof: effective degrees of freedom (infinity: normal).
        coverage: factor k of the expanded uncertainty.
        status: ok, coarse or withheld.
        reason: why coarse or withheld, in plain words; empty where ok.
        version: version of the definition.
    """

    name: str
    value: float | None
    unit: str
    u_own: float | None
    u_common: float | None
    certificate: str | None = None
    dof: float = math.inf
    coverage: float = 2.0
    status: Status = Status.OK
    reason: str = ""
    version: int = 1

    @property
    def u95(self) -> float | None:
        """Expanded uncertainty, in `unit`: k times the root sum of squares of both parts."""
        if self.u_own is None or self.u_common is None:
            return None
        return self.coverage * math.hypot(self.u_own, self.u_common)


@dataclass(frozen=True, slots=True)
class Verdict:
    """One word on the rise, one on the hold, and what to say.

    Attributes:
        rise: `snap`, `ramp`, `two-stage`, `leaning`, `false start` or `not measurable`.
        hold: `steady`, `outside band`, `shaky`, `sagging`, `early let-go` or `not measurable`.
        faults: all that apply, weightiest first.
        sentence: one sentence for the athlete, about the movement.
        detail: one sentence for the coach, with the numbers behind it.
    """

    rise: str
    hold: str
    faults: tuple[str, ...]
    sentence: str
    detail: str


@dataclass(frozen=True, slots=True, eq=False)
class Rep:
    """A hold with everything that was found out about it.

    Attributes:
        hold: the hold.
        prescription: what was asked for.
        measures: every measure by name.
        bricks: share of each prescribed second in which the force was where it should be, 0 to
            1; empty without a prescribed time.
        verdict: the words.
        is_typed: True where the force was read off a plain scale and nothing else is known.
    """

    hold: Hold
    prescription: Prescription
    measures: Mapping[str, MeasureValue]
    bricks: tuple[float, ...]
    verdict: Verdict
    is_typed: bool = False
