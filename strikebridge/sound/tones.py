"""The tones of the wall as samples; pure numbers, no device.

Four signals that nobody mixes up: they differ in pitch, in length and in order. The count-in
repeats one note, the go is an octave above it and longer, the last seconds lie between, and the
end goes down in two notes. All lie between 500 and 1100 Hz, where small loudspeakers are loud
and ears of any age hear well (common practice, no source). Pitches are of equal temperament
with A4 = 440 Hz (ISO 16).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

RATE_HZ = 44_100
EDGE_S = 0.004  # each note rises and falls so softly that nothing clicks
FULL_SCALE = 32_767  # largest sample of 16 bits
HEADROOM = 0.9  # of full scale at full volume, so that no converter clips between samples
C5_HZ, G5_HZ, C6_HZ = 523.25, 783.99, 1046.50


class Signal(StrEnum):
    """What a tone says; kept in the recording."""

    COUNT = "count"
    GO = "go"
    LAST = "last"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Note:
    """One note of a signal.

    Attributes:
        pitch_hz: frequency [1/s].
        start_s: from the start of the signal [s].
        length_s: how long it sounds [s].
    """

    pitch_hz: float
    start_s: float
    length_s: float

    @property
    def end_s(self) -> float:
        """Its end, from the start of the signal [s]."""
        return self.start_s + self.length_s


NOTES: Mapping[Signal, tuple[Note, ...]] = {
    Signal.COUNT: (Note(C5_HZ, 0.0, 0.12),),
    Signal.GO: (Note(C6_HZ, 0.0, 0.40),),
    Signal.LAST: (Note(G5_HZ, 0.0, 0.12),),
    Signal.DONE: (Note(G5_HZ, 0.0, 0.16), Note(C5_HZ, 0.18, 0.34)),
}
"""Signal -> its notes, in order; notes of one signal never overlap."""


def render(signal: Signal, volume: float) -> NDArray[np.int16]:
    """Turn a signal into samples.

    Args:
        signal: which.
        volume: 0 (silent) to 1 (as loud as can be without clipping).

    Returns:
        Samples at `RATE_HZ`, one channel, shape (n,).

    Raises:
        ValueError: the volume is not between 0 and 1.
    """
    if not 0.0 <= volume <= 1.0:
        raise ValueError(f"A volume lies between 0 and 1, not at {volume}.")
    notes = NOTES[signal]
    samples = np.zeros(round(max(note.end_s for note in notes) * RATE_HZ))
    for note in notes:
        first = round(note.start_s * RATE_HZ)
        time_s = np.arange(round(note.length_s * RATE_HZ)) / RATE_HZ
        # raised cosine at both ends
        inside = np.clip(np.minimum(time_s, note.length_s - time_s) / EDGE_S, 0.0, 1.0)
        envelope = 0.5 - 0.5 * np.cos(np.pi * inside)
        wave = envelope * np.sin(2.0 * np.pi * note.pitch_hz * time_s)
        samples[first : first + len(wave)] = wave
    return np.rint(samples * volume * HEADROOM * FULL_SCALE).astype(np.int16)
