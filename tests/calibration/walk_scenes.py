"""A rig on which plates are put on and taken off as a walk asks for it, in a closed form.

Every number about it is known: what a kilogram reads, how it creeps and what it weighs.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.certificate import PlateRecord
from strikebridge.samples import Flag, Floats, TimedBlock

if TYPE_CHECKING:
    from strikebridge.calibration.plate_walk import PlateWalk
    from strikebridge.calibration.walk_setup import WalkCall

PLATES = (
    PlateRecord("A", 20.0, 0.4),
    PlateRecord("B", 15.0, 0.3),
    PlateRecord("C", 10.0, 0.2),
    PlateRecord("D", 5.0, 0.1),
)


@dataclass
class Rig:
    """A cell, its board, and a hand that does what the walk says."""

    per_kg: float = 21_474.8
    zero: float = 84_000.0
    noise: float = 65.0
    rate_hz: float = 80.0
    creep: float = 0.0015
    channels: int = 1
    hand_s: float = 1.0
    step: float | None = 1.0
    seed: int = 1
    swing_kg: float = 0.0
    wrong: dict[int, str] = field(default_factory=dict)  # step -> plates by number instead
    off_kg: dict[int, float] = field(default_factory=dict)  # plate number -> error

    def __post_init__(self) -> None:
        self.draw = np.random.default_rng(self.seed)
        self.n = 0
        self.load_kg = 0.0
        self.crept_kg = 0.0
        self.next: tuple[float, str] | None = None
        self.steps: list[tuple[int, str]] = []
        self.masses: dict[int, float] = {}

    @property
    def now_s(self) -> float:
        return self.n / self.rate_hz

    def hear(self, calls: list[WalkCall]) -> None:
        for call in calls:
            if call.kind == "plate":
                number = int(call.detail["number"] or 0)
                self.masses[number] = float(call.detail["mass_kg"] or 0.0)
            if call.kind == "load":
                step, plates = int(call.detail["step"] or 0), str(call.detail["plates"])
                self.steps.append((step, plates))
                self.next = (self.now_s + self.hand_s, self.wrong.pop(step, plates))

    def put(self, plates: str) -> None:
        numbers = [int(number) for number in plates.split("+") if number]
        self.load_kg = sum(self.masses[n] + self.off_kg.get(n, 0.0) for n in numbers)

    def block(self, n: int) -> TimedBlock:
        """Give the next n readings."""
        if self.next is not None and self.now_s >= self.next[0]:
            self.put(self.next[1])
            self.next = None
        fades = np.exp(-np.arange(1, n + 1) / (15.0 * self.rate_hz))
        most_kg = self.creep * self.load_kg
        crept_kg = most_kg + (self.crept_kg - most_kg) * fades
        self.crept_kg = float(crept_kg[-1])
        loads = self.load_kg + crept_kg
        number = np.arange(self.n, self.n + n)
        loads += self.swing_kg * np.sin(2.0 * np.pi * 1.3 * number / self.rate_hz)
        value = loads * self.per_kg
        value = value[:, np.newaxis] / self.channels + self.zero
        value = value + self.draw.normal(0.0, self.noise, (n, self.channels))
        self.n += n
        counts: Floats = value if self.step is None else np.round(value / self.step) * self.step
        return TimedBlock(
            number, number / self.rate_hz, counts, np.zeros(n, np.uint16), self.rate_hz
        )


def lead(walk: PlateWalk, rig: Rig, *, most_s: float = 600.0, block: int = 8) -> None:
    """Go on until the walk ends, asks a question, or its time is over."""
    begun = walk.state
    while not walk.has_ended and rig.now_s < most_s:
        rig.hear(walk.feed([rig.block(block)]))
        if walk.state != begun and walk.state in ("question", "review"):
            return


def flagged(block: TimedBlock, flag: Flag) -> TimedBlock:
    """The same with a flag on every reading."""
    flags = block.flags | np.uint16(flag)
    return TimedBlock(block.number, block.time_s, block.counts, flags, block.rate_hz)
