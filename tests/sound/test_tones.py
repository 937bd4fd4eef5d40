"""Tones: stated pitch, order, length and loudness, told from the samples alone."""

import itertools

import numpy as np
import pytest

from strikebridge.sound.tones import (
    FULL_SCALE,
    HEADROOM,
    NOTES,
    RATE_HZ,
    Signal,
    render,
)


def pitch_hz(samples: np.ndarray) -> float:
    """Find the strongest frequency by a zero-padded, windowed Fourier transform."""
    size = 2**18
    wave = samples.astype(np.float64) * np.hanning(len(samples))
    return float(np.argmax(np.abs(np.fft.rfft(wave, size)))) * RATE_HZ / size


@pytest.mark.parametrize("signal", Signal)
def test_each_note_has_its_pitch_and_its_time(signal: Signal) -> None:
    samples = render(signal, 0.8)
    assert samples.dtype == np.int16
    assert len(samples) / RATE_HZ == pytest.approx(NOTES[signal][-1].end_s, abs=1e-4)
    is_loud = np.zeros(len(samples), bool)
    for note in NOTES[signal]:
        part = slice(round(note.start_s * RATE_HZ), round(note.end_s * RATE_HZ))
        assert pitch_hz(samples[part]) == pytest.approx(note.pitch_hz, abs=0.5)
        is_loud[part] = True
    assert not samples[~is_loud].any()


def test_pitches_are_those_of_equal_temperament() -> None:
    """A4 = 440 Hz (ISO 16); a semitone is the twelfth root of two."""
    for signal, semitones in (
        (Signal.COUNT, (3,)),
        (Signal.GO, (15,)),
        (Signal.LAST, (10,)),
        (Signal.DONE, (10, 3)),
    ):
        expected = [440.0 * 2.0 ** (step / 12.0) for step in semitones]
        assert [note.pitch_hz for note in NOTES[signal]] == pytest.approx(expected, abs=0.02)


def test_signals_are_told_apart() -> None:
    for one, other in itertools.combinations(Signal, 2):
        mine, others = NOTES[one], NOTES[other]
        pitches = [n.pitch_hz for n in mine], [n.pitch_hz for n in others]
        ratio = max(pitches[0][0], pitches[1][0]) / min(pitches[0][0], pitches[1][0])
        assert ratio > 1.3 or len(mine) != len(others), (one, other)  # over four semitones


@pytest.mark.parametrize("volume", [0.0, 0.1, 0.5, 1.0])
@pytest.mark.parametrize("signal", Signal)
def test_volume_scales_and_nothing_clips(signal: Signal, volume: float) -> None:
    samples = render(signal, volume).astype(np.int64)
    assert np.abs(samples).max() == pytest.approx(
        volume * HEADROOM * FULL_SCALE, abs=1 + 0.003 * FULL_SCALE
    )
    assert np.abs(samples).max() < FULL_SCALE


@pytest.mark.parametrize("signal", Signal)
def test_nothing_clicks(signal: Signal) -> None:
    """No step is larger than the steepest one of a sine of that pitch and loudness."""
    samples = render(signal, 1.0).astype(np.float64)
    highest_hz = max(note.pitch_hz for note in NOTES[signal])
    steepest = 2.0 * np.pi * highest_hz / RATE_HZ * HEADROOM * FULL_SCALE
    steps = np.abs(np.diff(samples, prepend=0.0, append=0.0))
    assert steps.max() <= steepest * 1.02
    assert abs(samples[0]) <= 1
    assert abs(samples[-1]) < 0.01 * FULL_SCALE


@pytest.mark.parametrize("volume", [-0.1, 1.1, float("nan")])
def test_a_volume_beyond_its_range_is_refused(volume: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        render(Signal.GO, volume)
