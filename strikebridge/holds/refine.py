"""Once per contact, on its single readings: baseline, onset, level, release, and the cut.

The frames have said that there was a hold and roughly when. Here the definitions are applied to
the readings themselves, going back from a crossing that is sure.

**Mains ripple.** Above 120 readings/s a ripple at 50 or 60 Hz can be told from noise. It is
fitted (by least squares) to the quiet second before the rise; where it carries most of the
spread it is taken off, for finding the onset and for the noise only. The force handed on keeps
it: over a hold it averages out, and what was recorded is not to be made prettier.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from strikebridge.holds.rows import CELLS, FLAGS, MISSING, NUMBER, TIME, U_COMMON, U_OWN
from strikebridge.samples import Flag, Floats, ForceBlock

BEFORE_S = 1.5  # handed on before the onset
QUIET_S = 1.0  # baseline: the quiet second before the rise ...
QUIET_MIN_S = 0.3  # ... this much of it at least
ONSET_SD = 5.0
ONSET_FLOOR_N = 2.0
MAD_TO_SD = 1.4826  # median absolute deviation of a normal distribution to its SD
LEAN_DOUBT = 0.03  # share of the rise by which a lean may be misjudged at first
RESTING_SHARE = 0.45  # of peak or level: with more than this left on it, its half says nothing
HOLE_LIMIT_S = 0.025  # two readings of a board of 80 a second; a wider hole hides the onset
SURE_SHARE = 0.1  # of the peak: a rise is on its way when it first reaches a tenth
RIPPLE_HZ = (50.0, 60.0)
RIPPLE_OFF_HZ = (-0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3)  # mains is not kept better than this
RIPPLE_MIN_RATE_HZ = 120.0
RIPPLE_SHARE = 0.5  # of the spread before the rise
RIPPLE_SURE = (
    0.99  # of that share: what lies nearer is worked out in full, as rounding may differ
)
ALIKE = 1e-3  # sine and cosine closer together than this are too alike to be told apart quickly


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """The readings of a contact and what came before it, zero taken off.

    Attributes:
        rows: as in `rows`, shape (n, columns).
        force_N: force above the tracked zero [N], shape (n,).
        begin: index where the contact begins, one frame early.
        quiet_from: index from which the rig (or the hand on it) was at rest.
        base_N: load there already was before the rise [N].
        noise_N: SD of a single reading at rest [N].
        rate_hz: sampling rate [1/s].
    """

    rows: Floats
    force_N: Floats
    begin: int
    quiet_from: int
    base_N: float
    noise_N: float
    rate_hz: float

    @property
    def time_s(self) -> Floats:
        """Times of the readings [s], shape (n,)."""
        return self.rows[:, TIME]


@dataclass(frozen=True, slots=True)
class Onset:
    """Where the rise began.

    Attributes:
        at_s: time [s].
        baseline_N: mean force over the quiet second before it [N].
        noise_N: SD of a single reading, ripple taken off [N].
        is_sure: False where there was no rest before it, or a hole in the way.
    """

    at_s: float
    baseline_N: float
    noise_N: float
    is_sure: bool


def find_onset(readings: Readings, peak_N: float) -> Onset:
    """Find when the force left its baseline.

    Args:
        readings: the contact.
        peak_N: its peak [N].

    Returns:
        The last time before a sure crossing at which the force left baseline + 5 SD (floor
        2 N), interpolated between readings.
    """
    base_N, noise_N = readings.base_N, readings.noise_N
    # what lay on the ball is known only roughly by now: look for the steep part first
    doubt_N = LEAN_DOUBT * max(0.0, peak_N - base_N) if base_N else noise_N
    first = _crossing(readings, readings.force_N, base_N, doubt_N, peak_N)
    quiet = _quiet(readings, first)
    enough = quiet.stop - quiet.start >= max(2.0, QUIET_MIN_S * readings.rate_hz - 1.0)
    force, baseline_N = readings.force_N, base_N
    if enough:
        force, noise_N = take_off_ripple(readings, quiet)
        baseline_N = float(force[quiet].mean())
        if base_N:
            # a hand on the ball wavers: its own spread is the noise to rise above; it came on
            # some time in this second, so both are taken from the middle of what is there
            baseline_N = float(np.median(force[quiet]))
            spread_N = MAD_TO_SD * float(np.median(np.abs(force[quiet] - baseline_N)))
            noise_N = max(noise_N, 0.6 * spread_N)
    last = _crossing(readings, force, baseline_N, noise_N, peak_N)
    limit_N = baseline_N + max(ONSET_FLOOR_N, ONSET_SD * noise_N)
    at_s = _between(readings.time_s, force, last, limit_N)
    is_sure = enough and last > 0 and _hole_s(readings, last) <= HOLE_LIMIT_S
    return Onset(at_s, baseline_N, min(noise_N, max(readings.noise_N, 1e-9)), is_sure)


def _crossing(
    readings: Readings, force: Floats, baseline_N: float, noise_N: float, peak_N: float
) -> int:
    """Return the index of the last reading not above the limit before a sure crossing."""
    limit_N = baseline_N + max(ONSET_FLOOR_N, ONSET_SD * noise_N)
    sure_N = max(
        limit_N + max(ONSET_FLOOR_N, 2.0 * noise_N),
        baseline_N + SURE_SHARE * (peak_N - baseline_N),
    )
    begin = readings.begin
    over = np.flatnonzero(force[begin:] >= sure_N)
    sure = begin + (int(over[0]) if len(over) else int(np.argmax(force[begin:])))
    under = np.flatnonzero(force[:sure] <= limit_N)
    return int(under[-1]) if len(under) else 0


def _hole_s(readings: Readings, last: int) -> float:
    """Return how long the holes are that the onset may lie in [s]."""
    missing = readings.rows[:, MISSING] > 0.0
    first, stop = max(0, last - 1), min(len(missing), last + 3)
    while first > 0 and missing[first]:
        first -= 1
    while stop < len(missing) and missing[stop - 1]:
        stop += 1
    return float(missing[first:stop].sum()) / readings.rate_hz


def _between(time_s: Floats, force: Floats, index: int, limit_N: float) -> float:
    """Interpolate when the force passes a limit between a reading and the next one [s]."""
    change = float(force[index + 1] - force[index])
    part = (limit_N - float(force[index])) / change if change else 0.0
    part = min(1.0, max(0.0, part))
    return float(time_s[index] + part * (time_s[index + 1] - time_s[index]))


def _quiet(readings: Readings, onset: int) -> slice:
    """Return the quiet second before the rise, without the last two readings of it."""
    stop = max(0, onset - 1)
    start = max(readings.quiet_from, stop - round(QUIET_S * readings.rate_hz), 0)
    return slice(min(start, stop), stop)


def take_off_ripple(readings: Readings, quiet: slice) -> tuple[Floats, float]:
    """Take mains ripple off where it can be told from noise.

    Args:
        readings: the contact.
        quiet: the readings before the rise.

    Returns:
        Force without ripple [N] and the SD of its noise [N]; both unchanged without a ripple
        worth mentioning.
    """
    unchanged = (readings.force_N, readings.noise_N)
    rate_hz = readings.rate_hz
    if rate_hz < RIPPLE_MIN_RATE_HZ or (quiet.stop - quiet.start) < QUIET_MIN_S * rate_hz:
        return unchanged
    time_s = readings.time_s - readings.time_s[quiet.start]
    y = readings.force_N[quiet]
    if not _may_carry_ripple(time_s[quiet], y):
        return unchanged
    straight = np.column_stack((np.ones_like(y), time_s[quiet]))
    spread = _left_over(straight, y)[1]

    def left_at(hz: float) -> float:
        return _left_over(np.column_stack((straight, _wave(time_s[quiet], hz))), y)[1]

    near_hz = min(RIPPLE_HZ, key=left_at)
    if spread <= 0.0 or left_at(near_hz) > (1.0 - RIPPLE_SHARE) * spread:
        return unchanged
    hz = min((near_hz + off for off in RIPPLE_OFF_HZ), key=left_at)
    wave = _wave(time_s, hz)
    solution, left = _left_over(np.column_stack((straight, wave[quiet])), y)
    left_sd = math.sqrt(left / max(1, len(y) - 5))
    return readings.force_N - wave @ solution[2:], min(left_sd, readings.noise_N)


def _may_carry_ripple(time_s: Floats, y: Floats) -> bool:
    """Leave out most of what `take_off_ripple` would find no ripple in, at little cost.

    With the straight line taken out of all of them, sine and cosine carry of y what the normal
    equations of two unknowns say.

    Args:
        time_s: times [s], shape (n,).
        y: force [N], shape (n,).

    Returns:
        False where a wave of either frequency surely carries less than RIPPLE_SHARE of the
        spread about a straight line.
    """
    about_s = time_s - time_s.mean()
    about_s /= math.sqrt(float(about_s @ about_s))
    rows = [y]
    for hz in RIPPLE_HZ:
        turn = 2.0 * math.pi * hz * time_s
        rows += [np.sin(turn), np.cos(turn)]
    waves = np.stack(rows)
    waves -= (waves.sum(axis=1) / len(y))[:, np.newaxis]
    waves -= np.outer(waves @ about_s, about_s)
    products = (waves @ waves.T).tolist()
    spread = products[0][0]
    for k in range(1, len(rows), 2):
        sine, cosine = products[0][k : k + 2]
        sine_2, both, cosine_2 = products[k][k], products[k][k + 1], products[k + 1][k + 1]
        apart = sine_2 * cosine_2 - both * both
        if apart <= ALIKE * sine_2 * cosine_2:
            return True  # at this rate the two are one
        carried = sine * sine * cosine_2 + cosine * cosine * sine_2 - 2.0 * sine * cosine * both
        if carried >= apart * RIPPLE_SURE * RIPPLE_SHARE * spread:
            return True
    return False


def _wave(time_s: Floats, hz: float) -> Floats:
    turn = 2.0 * math.pi * hz * time_s
    return np.column_stack((np.sin(turn), np.cos(turn)))


def _left_over(columns: Floats, y: Floats) -> tuple[Floats, float]:
    solution: Floats = np.linalg.lstsq(columns, y, rcond=None)[0].astype(np.float64)
    return solution, float(np.sum((y - columns @ solution) ** 2))


def find_level(force_N: Floats, base_N: float, peak_N: float) -> float:
    """Return L: the median force over the readings above half of the peak [N].

    A lean is part of the force. Only where it is nearly half of the peak itself does the half
    lie between the two, since else the lean would count for the level.

    Args:
        force_N: force of the hold [N].
        base_N: load before the rise [N].
        peak_N: peak of the hold proper [N].

    Returns:
        The level [N].
    """
    half_N = 0.5 * peak_N if base_N < RESTING_SHARE * peak_N else 0.5 * (peak_N + base_N)
    above = force_N[force_N > half_N]
    return float(np.median(above)) if len(above) else peak_N


def find_release(time_s: Floats, force_N: Floats, half_N: float) -> float | None:
    """Find when the force last falls through half of its level.

    Args:
        time_s: times [s].
        force_N: force [N].
        half_N: half the level [N].

    Returns:
        Time, interpolated [s], or None if it never falls through.
    """
    falls = np.flatnonzero((force_N[:-1] >= half_N) & (force_N[1:] < half_N))
    if not len(falls) or force_N[-1] >= half_N:
        return None
    return _between(time_s, force_N, int(falls[-1]), half_N)


def block_of(
    readings: Readings, start_s: float, calibration: str | None, dof: float
) -> ForceBlock:
    """Cut the force block a hold carries.

    Args:
        readings: the contact.
        start_s: where it may begin at the earliest [s].
        calibration: id of the calibration.
        dof: degrees of freedom of its common part.

    Returns:
        Force above the tracked zero; bridged readings are flagged BAD_WORD.
    """
    first = int(np.searchsorted(readings.time_s, start_s))
    rows = readings.rows[first:]
    flags = rows[:, FLAGS].astype(np.uint16)
    # nothing else is known of a reading that is not there: a word of all ones is no overload
    flags[rows[:, MISSING] > 0.0] = np.uint16(Flag.BAD_WORD)
    return ForceBlock(
        number=rows[:, NUMBER].astype(np.int64),
        time_s=rows[:, TIME].copy(),
        force_N=readings.force_N[first:].copy(),
        cells_N=rows[:, CELLS:].copy(),
        u_own_N=rows[:, U_OWN].copy(),
        u_common_N=rows[:, U_COMMON].copy(),
        flags=flags,
        rate_hz=readings.rate_hz,
        calibration=calibration,
        dof_common=dof,
    )
