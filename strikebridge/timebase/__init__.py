"""Sample number to seconds: the board's own clock where it has one, else arrivals, de-jittered.

Theory
------
A converter samples on its own oscillator: sample `n` is taken at `T(n) = a + b n`, with a
period `b` that is 3 to 17 % off the printed one and wanders slowly. The host sees it at
`s = T(n) + d`, and `d` is never negative: cables, drivers and schedulers delay, they do not
foresee. So the truth is the **lower envelope** of the arrivals, and a late sample says nothing
about it. The line under all points that lies closest to them is the edge of their lower convex
hull above the mean of `n` (the linear programme of Moon, Skelly and Towsley, "Estimation and
removal of clock skew from network delay measurements", IEEE INFOCOM 1999; by convex hulls:
Zhang, Liu and Xia, IEEE INFOCOM 2002). `envelope` holds that fit.

* `board_clock`: the board stamps each sample itself. Those stamps are the time axis; the
  envelope only maps host events such as the go signal onto it.
* `arrival_clock`: there is nothing but arrivals. The envelope gives the axis, and what lies
  above it for good, not for a moment, gives the samples that were lost.
* `stream`: `Timebase`, which picks one of the two by the first block.

Both are deterministic functions of the sequence of samples. The model changes only after a
fixed number of samples, never at the end of a block, so blocks of any size give the same bits.
"""

from __future__ import annotations

from strikebridge.timebase.stream import Timebase

__all__ = ["Timebase"]
