"""The loudspeaker: real playback into a device nobody hears, and every way to have none."""

from __future__ import annotations

import builtins
import threading
import time
from typing import TYPE_CHECKING

import miniaudio
import numpy as np
import pytest

from strikebridge.sound import speaker as door
from strikebridge.sound.speaker import NO_DEVICE, NO_PACKAGE, PERIOD_S, Speaker, may_sound
from strikebridge.sound.tones import Signal, render
from tests.running import WITHIN_S

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def speaker() -> Iterator[Speaker]:
    made = Speaker(0.5, backends=("NULL",))
    made.open()
    assert made.wait(WITHIN_S)
    yield made
    made.close()


def test_what_is_played_is_fetched_and_its_latency_stated(speaker: Speaker) -> None:
    assert speaker.take_remark() == ""
    speaker.added_s = 0.2
    played = speaker.play(Signal.GO)
    assert played is not None
    assert (played.signal, played.volume) == (Signal.GO, 0.5)
    assert 0.2 + PERIOD_S < played.latency_s < 0.3
    assert 0.0 < played.u_latency_s < 0.05
    ends_s = time.monotonic() + WITHIN_S
    while speaker._waiting and time.monotonic() < ends_s:
        threading.Event().wait(0.005)
    assert not speaker._waiting  # the device's own thread fetched it


def test_the_device_gets_every_sample_in_order() -> None:
    made = Speaker(1.0)
    feed = made._feed()
    next(feed)
    assert not any(feed.send(100))
    made._waiting.append(render(Signal.COUNT, 1.0))
    fetched = b"".join(feed.send(441) for _ in range(20))
    samples = np.frombuffer(fetched, np.int16)
    expected = render(Signal.COUNT, 1.0)
    assert np.array_equal(samples[: len(expected)], expected)
    assert not samples[len(expected) :].any()
    made._waiting.append(render(Signal.DONE, 1.0))
    feed.send(441)
    made._waiting.append(render(Signal.GO, 1.0))  # cuts off what still sounds
    assert feed.send(441) == render(Signal.GO, 1.0)[:441].tobytes()


def test_mute_and_volume(speaker: Speaker) -> None:
    assert speaker.words() == "Sound 50%."
    assert speaker.mute() == "Sound is off."
    assert speaker.play(Signal.GO) is None
    assert speaker.mute() == "Sound 50%."
    assert speaker.turn(+1) == "Sound 60%."
    assert speaker.turn(+9) == "Sound 100%."
    speaker.mute()
    assert speaker.turn(-1) == "Sound 90%."  # who makes it quieter wants to hear it
    assert speaker.turn(-9) == "Sound is off."
    assert speaker.play(Signal.GO) is None


def test_without_the_package_all_is_silent(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def without(name: str, *rest: object) -> object:
        if name == "miniaudio":
            raise ImportError(name)
        return real(name, *rest)  # type: ignore[arg-type] # handed on as it came

    monkeypatch.setattr(builtins, "__import__", without)
    made = Speaker()
    made.open()
    assert not made.wait(WITHIN_S)
    assert made.words() == NO_PACKAGE
    assert made.take_remark() == NO_PACKAGE
    assert made.take_remark() == ""
    assert made.play(Signal.GO) is None
    made.close()


@pytest.mark.parametrize("backend", ["WASAPI", "NO_SUCH_BACKEND"])
def test_without_a_device_all_is_silent(backend: str, caplog: pytest.LogCaptureFixture) -> None:
    """One is a way to sound of another system, the other a fault of the program."""
    made = Speaker(backends=(backend,))
    made.open()
    assert not made.wait(WITHIN_S)
    assert made.take_remark() == NO_DEVICE
    assert made.play(Signal.GO) is None


def test_what_the_library_falls_back_on_is_no_device(monkeypatch: pytest.MonkeyPatch) -> None:
    """With no card at all it plays to nobody; that is said, not passed off as sound."""
    real = miniaudio.PlaybackDevice

    def nobody(*args: object, **more: object) -> object:
        return real(*args, **{**more, "backends": [miniaudio.Backend.NULL]})

    monkeypatch.setattr(door, "may_sound", lambda *_: True)
    monkeypatch.setattr(miniaudio, "PlaybackDevice", nobody)
    made = Speaker()
    made.open()
    assert not made.wait(WITHIN_S)
    assert made.words() == NO_DEVICE


def test_closed_while_it_opens() -> None:
    made = Speaker(backends=("NULL",))
    made.close()
    assert made._find() == ""
    assert made.play(Signal.GO) is None
    made.open()  # a wall that comes back after a check
    assert made.wait(WITHIN_S)
    assert made.play(Signal.GO) is not None
    made.close()
    assert made.play(Signal.GO) is None


def test_linux_without_card_or_server_is_not_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PULSE_SERVER", raising=False)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))
    assert may_sound("win32", tmp_path)
    assert not may_sound("linux", tmp_path)
    (tmp_path / "dev" / "snd").mkdir(parents=True)
    assert not may_sound("linux", tmp_path)
    (tmp_path / "dev" / "snd" / "pcmC0D0p").touch()
    assert may_sound("linux", tmp_path)
    monkeypatch.setenv("PULSE_SERVER", "unix:/nowhere")
    assert may_sound("linux", tmp_path / "empty")
    monkeypatch.delenv("PULSE_SERVER")
    (tmp_path / "pulse").mkdir()
    (tmp_path / "pulse" / "native").touch()
    assert may_sound("linux", tmp_path / "empty")
