"""The peak of a noisy, smeared signal, and its doubt.

Four things stand between the largest reading and the largest force.

- **Noise lifts it.** The largest of n readings is the one in which noise pushed up; for a flat
  top of n = 100 by 2.5 SD. Averaging over a few samples, never longer than the converter's own
  settling and no more than half of it where that is long, lowers the noise; as few are averaged
  as bring it down to a quarter percent of the peak. The rest is computed and subtracted: with
  the hold's own shape s (the longest running mean beside which only noise is left) and its own
  swings about that shape (SD tau), it is the expected maximum of s + N(0, tau2 + sigma2) less
  the expected maximum of s + N(0, tau2). For a flat top this is the textbook excess of a
  maximum of n. Where real swings tower over the noise it shrinks to about sigma / 2 tau of it,
  as it must: then the athlete and not the noise decides which sample is the largest.
- **Mains ripple lifts it.** A fast board shows it; the peak then sits on one of its crests. Its
  amplitude is seen in the rest before the rise, as what scatters there beyond the noise.
- **The converter's filter lowers it.** It averages over its settling; a top of curvature c
  loses up to c/2 times the variance of that averaging, and the top may fall between two
  samples.
- **Swings quicker than the filter are gone altogether.** Nothing in the data tells of them;
  what is known is how much a held force swings at least.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats, Hold

AVERAGED_FREELY_S = 0.010  # swings of 10 Hz lose 1.6 %; longer, half the settling is the limit
ENOUGH_NOISE_SHARE = 0.0025  # averaging stops here; a quarter of the 1 % asked of a peak
SHAPE_S = 0.03  # shortest running mean for the hold's own shape; follows swings of 10 Hz
BINS_PER_SD, BINS = 8.0, 72  # of the centres; those more than 9 SD below the top do not count
GRID = np.linspace(-4.0, 8.0, 121)  # where the chance is worked out, in SD from the top
LEAST_SHAPES = 6  # a running mean over more of the hold would mix in its ends
SMEARED_CURVATURE = 2.0  # the curvature itself is seen smeared; found by Monte Carlo
REST_S = 1.0  # of rest that shows how noise averages ...
LEAST_REST = 10  # ... if it holds so many means ...
MOST_FLICKER = 1.5  # ... times the SD of white noise at most; more was no rest
REACHES = (0.75, 1.0, 1.5)  # settlings either side of a top; as few as noise allows
EXCESS_SHARE = 0.95  # swings that noise hides lower it; found by Monte Carlo on two models
EXCESS_DOUBT_SHARE = 0.33  # of the excess; covers the spread found by Monte Carlo in the tests


RIPPLE_LEAST_HZ = 120.0  # below, mains ripple cannot be told from noise and counts as such
RIPPLE_CHUNK_S = 0.1  # five or six periods of the mains
RIPPLE_LEAST_SHARE = 1.5  # of the noise's variance; less is chance
RIPPLE_LIFT = 0.9  # of the amplitude; the crest nearest to the top is rarely right on it
RIPPLE_DOUBT = 0.25  # of the amplitude


@dataclass(frozen=True, slots=True)
class Peak:
    """The peak and what is known against it.

    Attributes:
        value_N: largest averaged force less the excess of noise [N].
        largest_N: largest single reading [N].
        time_s: middle of the samples that make the peak [s].
        averaged: number of samples averaged.
        excess_N: what was subtracted for noise and ripple [N].
        u_noise_N: standard uncertainty from noise, ripple and their excess [N].
        missed_N: most that the filter, the averaging and the sampling may have missed [N].
    """

    value_N: float
    largest_N: float
    time_s: float
    averaged: int
    excess_N: float
    u_noise_N: float
    missed_N: float


def find_peak(hold: Hold, settling_s: float, end_s: float) -> Peak:
    """Find the peak between onset and end of a hold.

    Args:
        hold: the hold; at least one sample from onset to end.
        settling_s: time the converter's filter needs [s].
        end_s: release, or last sample [s].

    Returns:
        The peak with its doubts.
    """
    block = hold.force
    first = int(np.searchsorted(block.time_s, hold.onset_s - 1e-9))
    stop = max(first + 1, int(np.searchsorted(block.time_s, end_s + 1e-9, side="right")))
    force_N, time_s = block.force_N[first:stop], block.time_s[first:stop]
    largest_N = float(force_N.max())
    longest_s = min(settling_s, max(0.5 * settling_s, AVERAGED_FREELY_S))
    averaged = _how_many(hold.noise_N, largest_N, longest_s * block.rate_hz, len(force_N))
    means_N = running_mean(force_N, averaged)
    index = int(np.argmax(means_N))
    ripple_N = ripple_amplitude(hold)
    sd_N = hold.noise_N / math.sqrt(averaged)
    if averaged > 1 and not ripple_N:
        sd_N = _noise_of_means(hold, averaged)
    # means that overlap by half still take their chances nearly independently
    step = (averaged + 1) // 2
    excess_N, u_noise_N = noise_excess(means_N[::step], sd_N, block.rate_hz / step)
    excess_N *= EXCESS_SHARE
    middle_s = 0.5 * float(time_s[index] + time_s[index + averaged - 1])
    excess_N += RIPPLE_LIFT * ripple_N
    u_noise_N = math.hypot(u_noise_N, RIPPLE_DOUBT * ripple_N)
    span_s2 = settling_s**2 + (averaged**2 + 3.0 - 1.0) / block.rate_hz**2
    missed_N = 0.0
    for reach in REACHES:
        half_s = max(reach * settling_s, 2.0 / block.rate_hz)
        curvature, noise = _curvature(hold, middle_s, half_s)
        missed_N = SMEARED_CURVATURE * 0.5 * curvature * span_s2 / 12.0
        if 0.5 * noise * span_s2 / 12.0 <= ENOUGH_NOISE_SHARE * largest_N:
            break
    return Peak(
        value_N=float(means_N[index]) - excess_N,
        largest_N=largest_N,
        time_s=middle_s,
        averaged=averaged,
        excess_N=excess_N,
        u_noise_N=u_noise_N,
        missed_N=missed_N,
    )


def _noise_of_means(hold: Hold, averaged: int) -> float:
    """Find the SD that noise gives a mean of neighbours, as seen in the rest before a hold [N].

    White noise falls with the root of their number; the flicker of a cheap board by less.
    """
    sd_N = hold.noise_N / math.sqrt(averaged)
    block = hold.force
    # the rise may have begun a settling before the onset was sure
    stop = int(np.searchsorted(block.time_s, hold.onset_s)) - averaged - 1
    first = max(0, stop - round(REST_S * block.rate_hz))
    if stop - first < LEAST_REST * averaged:
        return sd_N
    rest_N = block.force_N[first:stop]
    about = np.linspace(-1.0, 1.0, len(rest_N))
    rest_N = rest_N - rest_N.mean() - about * float(about @ rest_N) / float(about @ about)
    seen_N = float(running_mean(rest_N, averaged).std())
    return min(max(sd_N, seen_N), MOST_FLICKER * sd_N)


def ripple_amplitude(hold: Hold) -> float:
    """Find the amplitude of mains ripple in the rest before a hold.

    The scatter about a straight line in each tenth of a second, the median of them so that a
    touch does not count; what it holds beyond the noise is half the square of the amplitude.

    Args:
        hold: the hold.

    Returns:
        Amplitude [N]; 0 where noise explains the scatter, or the board is slow.
    """
    block = hold.force
    width = round(RIPPLE_CHUNK_S * block.rate_hz)
    stop = int(np.searchsorted(block.time_s, hold.onset_s - 0.5 * RIPPLE_CHUNK_S))
    chunks = stop // width if block.rate_hz >= RIPPLE_LEAST_HZ else 0
    if chunks < 2:
        return 0.0
    rest_N = block.force_N[stop - chunks * width : stop].reshape(chunks, width)
    about = np.arange(width) - 0.5 * (width - 1)
    rest_N = rest_N - rest_N.mean(axis=1, keepdims=True)
    rest_N = rest_N - np.outer(rest_N @ about / (about @ about), about)
    scatter = float(np.median((rest_N**2).sum(axis=1))) / (width - 2)
    if scatter < RIPPLE_LEAST_SHARE * hold.noise_N**2:
        return 0.0
    return math.sqrt(2.0 * (scatter - hold.noise_N**2))


def running_mean(values: Floats, width: int) -> Floats:
    """Average each run of neighbours.

    Args:
        values: shape (n,).
        width: number of neighbours, 1 to n.

    Returns:
        Means, shape (n - width + 1,).
    """
    if width == 1:
        return values
    running = np.empty(len(values) + 1)
    running[0] = 0.0
    np.cumsum(values, out=running[1:])
    means: Floats = (running[width:] - running[:-width]) / width
    return means


def noise_excess(values_N: Floats, noise_N: float, rate_hz: float) -> tuple[float, float]:
    """Find by how much noise lifts the largest of some values, and how unsure that makes it.

    Args:
        values_N: independent values in order of time, shape (n,), n at least 1.
        noise_N: SD of the noise of each [N].
        rate_hz: values per second.

    Returns:
        Expected excess of the largest [N], and the standard uncertainty that noise leaves [N].
    """
    if noise_N <= 0.0:
        return 0.0, 0.0
    shape_N, swing_variance, width = _shape(values_N, noise_N, rate_hz)
    # the running mean keeps 1/width of the noise, which must not count twice
    kept_variance = noise_N**2 / width
    lifted_N, spread_N = expected_maximum(
        shape_N, math.sqrt(swing_variance + noise_N**2 - kept_variance + 1e-12 * noise_N**2)
    )
    plain_N, _ = expected_maximum(shape_N, math.sqrt(max(0.0, swing_variance - kept_variance)))
    if swing_variance <= kept_variance:
        # What the running mean kept lifts its largest value too. Reckoned from means that
        # already scatter by as much, on a flat top it comes out at sqrt 2 - 1 of what it is.
        apart_N = shape_N[::width]
        kept_N = math.sqrt(kept_variance)
        reckoned_N = expected_maximum(apart_N, kept_N)[0] - float(apart_N.max())
        most_N = expected_maximum(np.zeros(len(apart_N)), kept_N)[0]
        plain_N -= min(most_N, reckoned_N / (math.sqrt(2.0) - 1.0))
    excess_N = max(0.0, lifted_N - plain_N)
    # Swings pick one sample, which then carries its whole noise; a flat top picks the best of
    # many, which varies less.
    share = swing_variance / (swing_variance + noise_N**2)
    of_best_N = noise_N * spread_N / math.sqrt(swing_variance + noise_N**2)
    u_N = math.sqrt(share * noise_N**2 + (1.0 - share) * of_best_N**2)
    return excess_N, math.hypot(u_N, EXCESS_DOUBT_SHARE * excess_N)


def _shape(values_N: Floats, noise_N: float, rate_hz: float) -> tuple[Floats, float, int]:
    """Find the hold's own shape: the longest running mean beside which only noise is left.

    Returns:
        The running mean, the variance of the hold's own swings beside it [N2], and its width.
    """
    width = min(len(values_N), max(5, round(SHAPE_S * rate_hz)))
    found = _beside(values_N, noise_N, width)
    while width * 2 <= len(values_N) // LEAST_SHAPES:
        wider = _beside(values_N, noise_N, width * 2)
        if wider[1] > 0.0:
            break
        found, width = wider, width * 2
    return (*found, width)


def _beside(values_N: Floats, noise_N: float, width: int) -> tuple[Floats, float]:
    """Take a running mean, and the variance of the hold's own swings beside it near the top."""
    shape_N = running_mean(values_N, width)
    beside_N = values_N[(width - 1) // 2 :][: len(shape_N)] - shape_N
    beside_N = beside_N[shape_N >= 0.9 * shape_N.max()]
    # beyond 3 SD counts as 3 SD, as the ends lie far off; of normal values that keeps 0.995
    squares = beside_N**2
    largest = 9.0 * float(np.median(squares)) / 0.4549
    scatter = float(np.minimum(squares, largest).mean()) / 0.995
    swing_variance = scatter - noise_N**2 * (1.0 - 1.0 / width)
    # such a mean of n scatters by 1.5 / sqrt n of itself; less than twice that is no swing
    chance = 2.0 * 1.5 / math.sqrt(len(beside_N)) * noise_N**2
    return shape_N, swing_variance if swing_variance > chance else 0.0


def expected_maximum(centres: Floats, sd: float) -> tuple[float, float]:
    """Find mean and SD of the largest of independent normal values.

    The distribution of the largest is the product of the single ones; its moments follow by
    integrating it. Centres are gathered in bins first, 1/8 SD wide, so that long holds cost no
    more than short ones.

    Args:
        centres: mean of each value, shape (n,).
        sd: their common SD; 0 gives the largest centre.

    Returns:
        Mean and SD of the largest.
    """
    top = float(centres.max())
    if sd <= 0.0:
        return top, 0.0
    below = np.minimum((top - centres) / sd, 10.0)
    counts = np.bincount(np.round(below * BINS_PER_SD).astype(np.int64), minlength=81)
    occupied = np.flatnonzero(counts[:BINS])
    grid = GRID
    chance = np.exp(_log_chances()[:, occupied] @ counts[occupied])
    step = grid[1] - grid[0]
    above = 1.0 - chance
    mean = grid[0] + step * (float(above.sum()) - 0.5 * float(above[0] + above[-1]))
    # E[(x - low)2] = 2 * integral of (x - low) (1 - G)
    weighted = (grid - grid[0]) * above
    second = 2.0 * step * (float(weighted.sum()) - 0.5 * float(weighted[0] + weighted[-1]))
    variance = max(0.0, second - (mean - grid[0]) ** 2)
    return top + sd * mean, sd * math.sqrt(variance)


@cache
def _log_chances() -> Floats:
    """Tabulate the log of the normal distribution function, one column a bin.

    Every bin is as far from every point of the grid as it always is; working this out for each
    hold took most of the time that measuring it takes.
    """
    z = GRID[:, None] + np.arange(BINS)[None, :] / BINS_PER_SD
    table: Floats = np.vectorize(log_of_phi, otypes=[np.float64])(z)
    return table


def log_of_phi(z: float) -> float:
    """Take the natural logarithm of the normal distribution function at z, -4 or more."""
    upper = 0.5 * math.erfc(z / math.sqrt(2.0))  # the chance of more
    return math.log(0.5 * math.erfc(-z / math.sqrt(2.0))) if z < 0.0 else math.log1p(-upper)


def _how_many(noise_N: float, largest_N: float, in_time: float, available: int) -> int:
    most = max(1, min(int(in_time + 1e-6), available))
    enough_N = ENOUGH_NOISE_SHARE * largest_N
    if noise_N <= enough_N or largest_N <= 0.0:
        return 1
    return min(most, math.ceil((noise_N / enough_N) ** 2))


def _curvature(hold: Hold, at_s: float, half_s: float) -> tuple[float, float]:
    """Fit a parabola around the peak; its downward curvature, and that of noise [N/s2]."""
    time_s, force_N = hold.force.time_s, hold.force.force_N
    first = int(np.searchsorted(time_s, at_s - half_s - 1e-9))
    stop = int(np.searchsorted(time_s, at_s + half_s + 1e-9, side="right"))
    if stop - first < 4:
        return 0.0, 0.0
    about = (time_s[first:stop] - at_s) / half_s
    design = np.column_stack((np.ones_like(about), about, 0.5 * about**2))
    inverse = np.linalg.pinv(design)
    bend_N = -float(inverse[2] @ force_N[first:stop])
    noise_N = hold.noise_N * float(np.linalg.norm(inverse[2]))
    own_N = math.sqrt(max(0.0, bend_N * abs(bend_N) - noise_N**2))
    return own_N / half_s**2, noise_N / half_s**2
