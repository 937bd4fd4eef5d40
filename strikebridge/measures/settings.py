"""Limits of the definitions; our own conventions, changeable."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MeasureSettings:
    """Limits of the definitions; our own conventions, changeable.

    Attributes:
        settle_after_peak_s: from reaching the level or the peak to the hold window [s].
        peak_near_level_s: a peak later than this after 90 % of the level does not delay the
            hold window [s].
        leave_before_end_s: from the hold window to the let-go or the prescribed end [s].
        shortest_window_s: a shorter hold window is not used [s].
        let_go_share: the let-go starts below this share of the force just before it.
        sound_latency_s: how long a go that was not played by us takes to reach the ear,
            subtracted from reaction beside what the hold states of its own [s].
        start_rule_s: nobody reacts sooner (start rule of athletics, value from memory) [s].
        swing_share: SD of the swings of a held human force / its mean, used for what a slow
            converter cannot show; 1.7 % is the lowest found (Taylor, Christou, Enoka 2003, J
            Neurophysiol 90:1350-1361).
        tremor_part: how much of their variance is tremor; slow swings dominate (Dideriksen et
            al. 2012, PMC3378401), so a half would be plenty for most, and this is for all.
        swing_hz: where those slow swings are fastest (inference) [Hz].
        tremor_hz: physiological tremor lies about 8 to 12 Hz (value from memory) [Hz].
        like_share: tops that differ by less than this share may change places in the filter.
        creep_share: most that a cell may creep or lag in a hold, share of the load; data sheets
            of cheap bars give 0.03 to 0.05 % of the rated output for each (value from memory).
    """

    settle_after_peak_s: float = 0.3
    peak_near_level_s: float = 0.8
    leave_before_end_s: float = 0.1
    shortest_window_s: float = 0.5
    let_go_share: float = 0.8
    sound_latency_s: float = 0.0
    start_rule_s: float = 0.100
    swing_share: float = 0.017
    tremor_part: float = 0.8
    swing_hz: float = 2.0
    tremor_hz: float = 10.0
    like_share: float = 0.02
    creep_share: float = 0.001


DEFAULT_SETTINGS = MeasureSettings()
CREEP_CERTIFIED = MeasureSettings(creep_share=DEFAULT_SETTINGS.creep_share / 3.0)
"""Where the certificate already holds how much longer the calibration crept than a hold of two
seconds. What is left is how much otherwise than after two seconds a hold has crept when it is
read, 0.2 to 6 s after its rise: by creep that grows with ln(1 + t / 1 s) a third of what grows
in the 15 s of a step (the law of `calibration.creep`; value from memory)."""
