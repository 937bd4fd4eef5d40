"""An invented board: athlete + ball + cell + converter, which speaks our own line protocol.

Pure: time is the board's own and goes on only when lines are asked for, in frames of about
50 ms. The same seed gives the same counts and ticks, whatever the wall clock does.

The cell is rated 200 kg at 2 mV/V. The converter is of the HX711 class: gain 128, so that one
kilogram is 2e-3 x 256/2 x 2^24 / 200 = 21 474.8 counts, independent of the supply (data sheet:
full scale +-0.5 AVDD / gain); a filter that takes four conversions to settle; 24 bits, clipped.
Its oscillator is off by several percent, as real ones are; the microcontroller's clock is good.
Noise, drift and creep are of the size found on real boards.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from strikebridge.boards.line_decoder import CONVERTER_HIGH, CONVERTER_LOW
from strikebridge.boards.simulated_athlete import (
    Shape,
    SimulatedRep,
    Task,
    make_rep,
)
from strikebridge.boards.simulated_plates import SimulatedHand
from strikebridge.boards.simulated_squad import ALONE, sparring_of
from strikebridge.boards.strikebridge_lines import MOST_MICROS, MOST_SEQUENCE, close_line
from strikebridge.calibration.certificate import plain_certificate
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.samples import Floats

RATING_KG = 200.0
OUTPUT_MV_PER_V = 2.0
COUNTS_PER_KG = OUTPUT_MV_PER_V / 1000.0 * 256.0 * 2**23 / RATING_KG
GAIN_N_PER_COUNT = STANDARD_GRAVITY_M_PER_S2 / COUNTS_PER_KG
RATING_N = RATING_KG * STANDARD_GRAVITY_M_PER_S2
U_RELATIVE = 0.005  # what a calibration with good plates leaves: common practice, no source
SETTLING_CONVERSIONS = 4  # data sheet of the HX711: 400 ms at 10/s, 50 ms at 80/s
FINE_HZ = 1280.0  # the force is looked at this often, at least, before the filter
MAINS_HZ = 50.0
MAINS_COUNTS = 15.0
FRAME_S = 0.05
FIRST_GO_S = 4.0
ROUND_S = 8.0
ROUND_HOLD_S = 3.0
SOUNDING_REPS = 2  # a repetition may begin before the last one is quite over
OVER_A_CELL = 0.7  # of a plate that lies over one cell of a platform
RESET_GAP_S = 0.4  # a reset board needs its start-up and the converter's settling


@dataclass(frozen=True, slots=True)
class BoardModel:
    """What board, what athlete, what goes wrong.

    Attributes:
        rate_hz: nominal sampling rate [1/s].
        seed: everything that chance decides follows from it.
        channels: cells, 1 to 4, which share the force.
        is_listening: True for an athlete who waits for the go; False for one who goes by his
            own clock, first at 4 s and then every 8 s.
        lost_share: share of the lines that never arrive, 0 to 1.
        reset_s: when the board begins anew by itself [s], None for never.
        plates_off: None for a rig on the wall with an athlete at it; else the rig lies flat,
            and a hand puts plates on it that are off by up to this share of their mass.
        overload: share of the rating of the hardest pressed cell that the second repetition
            reaches, 0 for an athlete who spares it.
        frame_s: how much time passes at once [s]; who listens hears no sooner.
    """

    rate_hz: float = 80.0
    seed: int = 1
    channels: int = 1
    is_listening: bool = False
    lost_share: float = 0.0
    reset_s: float | None = None
    plates_off: float | None = None
    overload: float = 0.0
    frame_s: float = FRAME_S


@dataclass(frozen=True, slots=True)
class TimedLine:
    """A line and when the board has finished writing it [us of the board's clock]."""

    at_us: int
    data: bytes


class SimulatedBoard:
    """Make the lines of a board, frame by frame.

    Attributes:
        model: what board and athlete it is.
        real_rate_hz: true sampling rate [1/s].
        reps: every repetition so far, with its truth; times on the board's clock [s].
        hand: puts plates on where the rig lies flat, None at the wall.
    """

    def __init__(self, model: BoardModel) -> None:
        """Switch the board on.

        Args:
            model: what board and athlete it is.
        """
        self.model = model
        chance = np.random.SeedSequence(model.seed).spawn(4)
        rig, noise, self._chance_of_reps, losses = (np.random.default_rng(c) for c in chance)
        self._noise, self._losses = noise, losses
        self.reps: list[SimulatedRep] = []
        self.hand: SimulatedHand | None = None
        if model.plates_off is not None:
            self.hand = SimulatedHand(model.seed, model.plates_off)
        self.real_rate_hz = model.rate_hz * rig.uniform(0.95, 1.06)
        self.strength_N = float(rig.uniform(750.0, 1150.0))
        self.zero_counts = float(np.round(rig.uniform(-200_000.0, 300_000.0)))
        self._shares = rig.dirichlet(np.full(model.channels, 30.0))
        self._noise_counts = rig.uniform(45.0, 85.0) * np.sqrt(model.rate_hz / 80.0)
        self._warming_counts = rig.uniform(-900.0, 900.0)
        self._fine = max(4, round(FINE_HZ / self.real_rate_hz))  # looks a conversion
        self._kernel = _filter(self._fine)
        self._past = np.zeros(len(self._kernel) - self._fine)
        self._wander = np.zeros(model.channels)
        self._creep_N = 0.0
        self._made = 0
        self._frame = max(1, round(model.frame_s * model.rate_hz))
        self._sequence = 0
        self._began_us = 0
        self._task = Task(self.strength_N, ROUND_HOLD_S)
        self._sparring = ALONE
        self._is_reset_due = model.reset_s is not None
        self._silent_until_us = 0

    @property
    def now_s(self) -> float:
        """How far the board's own clock has come [s]."""
        return self._made / self.real_rate_hz

    def identity_line(self) -> bytes:
        """Say what the board is, as it does at start and on request.

        Each seed has a cell of its own, hence a name of its own.
        """
        model = self.model
        converter = b"hx711" if model.rate_hz <= 100.0 else b"adc24"
        settling_ms = b"%g" % (1000.0 * SETTLING_CONVERSIONS / model.rate_hz)
        return close_line(
            b"I,1,simulated-%d,1.0,%s,%g,%s"
            % (model.seed, converter, model.rate_hz, settling_ms)
        )

    def certificate(self) -> Certificate:
        """Give the calibration that fits the simulated cell."""
        certificate = plain_certificate(
            GAIN_N_PER_COUNT,
            self.zero_counts,
            made_at="2026-01-01T09:00:00+00:00",
            range_N=(0.0, RATING_N * self.model.channels),
            u_relative=U_RELATIVE,
            channels=self.model.channels,
        )
        board, note = f"simulated-{self.model.seed} 1.0", "invented cell of the simulated board"
        return msgspec.structs.replace(certificate, board=board, rating_N=RATING_N, note=note)

    def hear(self, kind: str, at_s: float, detail: Mapping[str, object]) -> None:
        """Let athlete or hand hear what is called out; who goes by his own clock ignores it.

        Args:
            kind: `turn`, `prescribed`, `go`, or `ready` where the athlete leads; `plate` or
                `load` for the hand; everything else means nothing.
            at_s: when, on the board's clock [s].
            detail: of `prescribed`: effort, hold_s, band_low_N, band_high_N; of `turn`: place
                of the athlete in the session, exercise.
        """
        if self.hand is not None:
            self.hand.hear(kind, at_s, detail)
        elif not self.model.is_listening:
            return
        elif kind == "turn":
            self._sparring = sparring_of(detail)
        elif kind == "prescribed":
            self._task = _task(detail, self.strength_N * self._sparring.strength)
        elif kind in ("go", "ready"):
            self._add_rep(at_s)

    def next_lines(self) -> list[TimedLine]:
        """Let one frame of time pass and give the lines written in it."""
        first, n = self._made, self._frame
        self._made += n
        if not self.model.is_listening and self.hand is None:
            self._keep_rounds()
        counts = self._convert(first, n)
        ends_us = np.round((np.arange(first, first + n) + 1) / self.real_rate_hz * 1e6)
        lines: list[TimedLine] = []
        for at_us, row in zip(ends_us.astype(np.int64).tolist(), counts.tolist(), strict=True):
            lines += self._write(at_us, row)
        return lines

    def _write(self, at_us: int, row: list[int]) -> list[TimedLine]:
        """Write the line of one sample, as far as the board lives and the line gets through."""
        reset_s = self.model.reset_s
        if self._is_reset_due and reset_s is not None and at_us >= reset_s * 1e6:
            self._is_reset_due = False
            self._began_us = at_us
            self._silent_until_us = at_us + round(RESET_GAP_S * 1e6)
            self._sequence = 0
        if at_us < self._silent_until_us:
            return []
        lines: list[TimedLine] = []
        if self._silent_until_us:
            self._silent_until_us = 0
            lines.append(TimedLine(at_us, self.identity_line()))
        sequence, self._sequence = self._sequence, (self._sequence + 1) % (MOST_SEQUENCE + 1)
        if self.model.lost_share and self._losses.random() < self.model.lost_share:
            return lines
        micros = (at_us - self._began_us) % (MOST_MICROS + 1)
        payload = b"S,%d,%d,%s" % (sequence, micros, b",".join(b"%d" % count for count in row))
        return [*lines, TimedLine(at_us, close_line(payload))]

    def _keep_rounds(self) -> None:
        """Begin the next round in time for a lean before its go."""
        go_s = FIRST_GO_S + ROUND_S * len(self.reps)
        if go_s - self.now_s < ROUND_S / 2.0:
            self._add_rep(go_s)

    def _add_rep(self, go_s: float) -> None:
        rng = self._chance_of_reps
        shape = self._sparring.draw(rng)
        if not self.reps or (self.model.is_listening and shape is Shape.LEAN):
            shape = Shape.SNAP  # the first one shows what is meant; a lean would come too late
        day = rng.normal(1.0, 0.035 if self._task.is_maximal else 0.02)
        task = Task(self._task.force_N * day, self._task.hold_s, self._task.is_maximal)
        if len(self.reps) == 1 and self.model.overload:
            force_N = self.model.overload * RATING_N / float(np.max(self._shares))
            task = replace(task, force_N=force_N)
        self.reps.append(make_rep(shape, task, go_s, rng))
        if len(self.reps) > SOUNDING_REPS:  # of older ones only the truth is kept, no curve
            past = -SOUNDING_REPS - 1
            self.reps[past] = replace(self.reps[past], time_s=np.empty(0), force_N=np.empty(0))

    def _convert(self, first: int, n: int) -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
        """Convert the next samples: counts, shape (n, channels)."""
        fine_hz = self.real_rate_hz * self._fine
        fine_s = (np.arange(first * self._fine, (first + n) * self._fine) + 1) / fine_hz
        force_N = np.zeros(len(fine_s)) if self.hand is None else self.hand.load_N(fine_s)
        for rep in self.reps[-SOUNDING_REPS:]:
            force_N += rep.at(fine_s)
        hum_N = MAINS_COUNTS * GAIN_N_PER_COUNT * np.sin(2.0 * np.pi * MAINS_HZ * fine_s)
        seen = np.concatenate([self._past, force_N + hum_N])
        self._past = seen[n * self._fine :]
        windows = np.lib.stride_tricks.sliding_window_view(seen, len(self._kernel))
        filtered_N = self._with_creep(windows[:: self._fine] @ self._kernel)
        counts = np.outer(filtered_N / GAIN_N_PER_COUNT, self._shares_now())
        counts += self._noise.normal(0.0, self._noise_counts, counts.shape)
        time_s = (np.arange(first, first + n) + 1) / self.real_rate_hz
        warming = self._warming_counts * (1.0 - np.exp(-time_s / 240.0))
        counts += self._drift(counts.shape) + warming[:, np.newaxis] + self.zero_counts
        return np.clip(np.round(counts), CONVERTER_LOW, CONVERTER_HIGH).astype(np.int64)

    def _shares_now(self) -> Floats:
        """How the platform shares the load among its cells."""
        cell = 0 if self.hand is None else self.hand.cell
        if not 1 <= cell <= len(self._shares):
            return self._shares
        near = np.zeros(len(self._shares))
        near[cell - 1] = 1.0
        shares: Floats = (1.0 - OVER_A_CELL) * self._shares + OVER_A_CELL * near
        return shares

    def _drift(self, shape: tuple[int, ...]) -> Floats:
        """Let the zero wander, about 12 counts in a second, 300 in ten minutes."""
        steps = self._noise.normal(0.0, 12.0 / np.sqrt(self.real_rate_hz), shape)
        drift: Floats = self._wander + np.cumsum(steps, axis=0)
        self._wander = drift[-1]
        return drift

    def _with_creep(self, force_N: Floats) -> Floats:
        """Add what the cell gives way by and by under load, and gives back after it."""
        gain = 1.0 - np.exp(-1.0 / (15.0 * self.real_rate_hz))
        out = np.empty_like(force_N)
        for i, force in enumerate(force_N.tolist()):
            self._creep_N += (0.0015 * force - self._creep_N) * gain
            out[i] = force + self._creep_N
        return out


def _filter(fine: int) -> Floats:
    """Make the converter's filter: four running means of one conversion each (sinc^4)."""
    mean = np.full(fine, 1.0 / fine)
    kernel = mean
    for _ in range(SETTLING_CONVERSIONS - 1):
        kernel = np.convolve(kernel, mean)
    # a whole number of conversions, so that what is left over from a frame always fits
    return np.concatenate([np.zeros(SETTLING_CONVERSIONS * fine - len(kernel)), kernel])


def _task(detail: Mapping[str, object], strength_N: float) -> Task:
    """Understand what is asked for."""
    hold_s, low_N, high_N = (
        float(value) if isinstance(value, (int, float)) else None
        for value in (detail.get(key) for key in ("hold_s", "band_low_N", "band_high_N"))
    )
    hold_s = hold_s or ROUND_HOLD_S
    if low_N is not None and high_N is not None:
        return Task((low_N + high_N) / 2.0, hold_s, is_maximal=False)
    if detail.get("effort") == "submaximal":
        return Task(0.75 * strength_N, hold_s, is_maximal=False)
    return Task(strength_N, hold_s)
