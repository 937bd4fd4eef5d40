"""Limits of the verdict: our own convention, adjustable, no published values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limits:
    """Where one word ends and the next begins.

    Attributes:
        slowest_hz: below this rate no word is said on the rise, and a word on the hold only
            where the value lies beyond its limit by more than its uncertainty [1/s].
        start_s: a reaction below this is a false start; the start rule of athletics [s].
        lean_N: a start under load is a lean above this [N] ...
        lean_share: ... and above this share of the peak, whichever is more.
        first_share: a rise in stages is looked for from this share of the early peak ...
        last_share: ... to the final passage of this one.
        rise_s: the early peak is the largest force within this time of the onset [s].
        pause_s: a pause or a fall is one when longer [s].
        pause_rise_share: ... and than this share of the time the rise takes; matters only where
            that is many seconds.
        pause_slope_share: a pause is slower than this share of the steepest slope.
        fall_share: a fall is one when deeper than this share of the early peak.
        drop_share: a first part that falls below this share of itself was a hit of its own.
        climb_share: a rise after a fall is one when higher than this share of the early peak.
        snap_percent: a snap has this much of the early peak after 0.2 s [%].
        held_share: early let-go below this share of the prescribed time.
        sag_percent_per_s: sagging below this [%/s].
        shaky_percent: shaky above this coefficient of variation [%].
        inside_percent: outside the band with less of the time inside it [%].
    """

    slowest_hz: float = 60.0
    start_s: float = 0.100
    lean_N: float = 20.0
    lean_share: float = 0.10
    first_share: float = 0.10
    last_share: float = 0.80
    rise_s: float = 1.0
    pause_s: float = 0.15
    pause_rise_share: float = 0.10
    pause_slope_share: float = 0.10
    fall_share: float = 0.03
    drop_share: float = 0.5
    climb_share: float = 0.1
    snap_percent: float = 70.0
    held_share: float = 0.9
    sag_percent_per_s: float = -5.0
    shaky_percent: float = 5.0
    inside_percent: float = 50.0


DEFAULT_LIMITS = Limits()
