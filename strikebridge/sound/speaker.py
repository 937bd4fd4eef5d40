"""The loudspeaker: the one door to miniaudio, which is imported late and may be missing.

Nothing here waits: the device is opened on a thread of its own, `play` only puts samples where
the device's thread fetches them. Without the package or without a device all stays silent, and
one sentence says so.
"""

from __future__ import annotations

import logging
import os
import sys
import threading
from collections import deque
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.sound.tones import RATE_HZ, Signal, render

if TYPE_CHECKING:
    from collections.abc import Generator

    import miniaudio
    from numpy.typing import NDArray

log = logging.getLogger(__name__)

PERIOD_S = 0.020  # the device fetches so much at once
PERIODS = 2
AIR_S = 3.5 / 343.0  # athlete 3 to 4 m away (common practice); speed of sound in air at 20 °C
MIXER_S = 0.030  # allowance for what a system's mixer may add or spare; no source
QUIETEST, STEP = 0.0, 0.1
USUAL_VOLUME = 0.8
NO_PACKAGE = "No sound: the package miniaudio is not here. Add it: pip install miniaudio."
NO_DEVICE = "No sound: no loudspeaker was found. All else works."


@dataclass(frozen=True, slots=True)
class Played:
    """A signal on its way to the ear.

    Attributes:
        signal: which.
        latency_s: stated time from `play` to the ear [s].
        u_latency_s: standard uncertainty of it [s].
        volume: 0 to 1.
    """

    signal: Signal
    latency_s: float
    u_latency_s: float
    volume: float


class Speaker:
    """Play signals.

    Attributes:
        added_s: what the loudspeaker adds to the latency, such as one on Bluetooth [s].
    """

    def __init__(
        self,
        volume: float = USUAL_VOLUME,
        *,
        added_s: float = 0.0,
        backends: tuple[str, ...] = (),
    ) -> None:
        """Prepare; `open` looks for a device.

        Args:
            volume: 0 to 1.
            added_s: what the loudspeaker adds to the latency [s].
            backends: names of the system's ways to sound, such as `NULL`; empty for the usual.
        """
        self.added_s = added_s
        self._volume = volume
        self._is_muted = False
        self._backends = backends
        self._waiting: deque[NDArray[np.int16]] = deque(maxlen=1)
        self._device: miniaudio.PlaybackDevice | None = None
        self._why = ""  # why there is no device
        self._remark = ""
        self._is_open = threading.Event()
        self._is_closed = False
        self._lock = threading.Lock()

    @property
    def volume(self) -> float:
        """How loud, 0 to 1; 0 while it is muted."""
        return 0.0 if self._is_muted else self._volume

    def open(self) -> None:
        """Begin to look for a device; returns at once. After `close` it may be opened again."""
        with self._lock:
            if self._device is not None:
                return
            self._is_closed = False
            self._is_open.clear()
        threading.Thread(target=self._open, name="speaker", daemon=True).start()

    def wait(self, timeout_s: float) -> bool:
        """Wait until a device was looked for.

        Args:
            timeout_s: longest wait [s].

        Returns:
            True where one was found.
        """
        return self._is_open.wait(timeout_s) and self._device is not None

    def close(self) -> None:
        """Let go of the device; nothing is heard any more."""
        with self._lock:
            self._is_closed = True
            device, self._device = self._device, None
        if device is not None:
            device.close()

    def play(self, signal: Signal) -> Played | None:
        """Let a signal be heard; one that still sounds is cut off. Any thread.

        Args:
            signal: which.

        Returns:
            What was played, None where nothing is heard.
        """
        volume = self.volume
        if self._device is None or volume <= QUIETEST:
            return None
        self._waiting.append(render(signal, volume))
        # fetched within a period, heard after those that were fetched before
        latency_s = (PERIODS - 0.5) * PERIOD_S + AIR_S + self.added_s
        u_latency_s = float(np.hypot(0.5 * PERIOD_S, MIXER_S) / np.sqrt(3.0))
        return Played(signal, latency_s, u_latency_s, volume)

    def mute(self) -> str:
        """Turn the sound off, or on again.

        Returns:
            How it is now, in a sentence.
        """
        self._is_muted = not self._is_muted
        return self.words()

    def turn(self, steps: int) -> str:
        """Make it louder or quieter.

        Args:
            steps: tenths of full volume, less than 0 for quieter.

        Returns:
            How it is now, in a sentence.
        """
        self._is_muted = False
        self._volume = round(min(1.0, max(QUIETEST, self._volume + steps * STEP)), 3)
        return self.words()

    def words(self) -> str:
        """Say how it is, in a sentence."""
        if self._is_open.is_set() and self._device is None:
            return self._why
        return "Sound is off." if self.volume <= QUIETEST else f"Sound {self.volume:.0%}."

    def take_remark(self) -> str:
        """Give the sentence that a coach should read once, then nothing any more."""
        remark, self._remark = self._remark, ""
        return remark

    def _open(self) -> None:
        try:
            self._why = self._find()
        except Exception:  # the edge of the thread: sound must never end anything
            log.exception("the loudspeaker could not be opened")
            self._why = NO_DEVICE
        self._remark = self._why
        self._is_open.set()

    def _find(self) -> str:
        """Open the device; say why there is none."""
        try:
            import miniaudio  # noqa: PLC0415 - optional, and nobody else needs it
        except ImportError:
            return NO_PACKAGE
        if not self._backends and not may_sound(sys.platform, Path("/")):
            return NO_DEVICE
        try:
            device = miniaudio.PlaybackDevice(
                miniaudio.SampleFormat.SIGNED16,
                nchannels=1,
                sample_rate=RATE_HZ,
                buffersize_msec=round(PERIOD_S * 1000.0),
                callback_periods=PERIODS,
                backends=[miniaudio.Backend[name] for name in self._backends] or None,
                app_name="strikebridge",
            )
        except miniaudio.MiniaudioError as error:
            log.info("no device for sound: %s", error)
            return NO_DEVICE
        if device.backend == "Null" and not self._backends:
            device.close()  # what the library falls back on; it plays to nobody
            return NO_DEVICE
        feed = self._feed()
        next(feed)
        device.start(feed)
        with self._lock:
            if not self._is_closed:
                self._device = device
                return ""
        device.close()
        return ""

    def _feed(self) -> Generator[bytes, int, None]:
        """Give the device its samples; runs on the device's thread."""
        rest = np.zeros(0, np.int16)
        frames = yield b""
        while True:
            if self._waiting:
                rest = self._waiting.popleft()
            piece, rest = rest[:frames], rest[frames:]
            frames = yield np.pad(piece, (0, frames - len(piece))).tobytes()


def may_sound(platform: str, root: Path) -> bool:
    """Say whether a device may be there: on Linux the attempt alone fills a terminal.

    Args:
        platform: as `sys.platform` has it.
        root: of the file system.

    Returns:
        False on Linux where there is neither a card nor a sound server.
    """
    if not platform.startswith("linux"):
        return True
    runtime = Path(os.environ.get("XDG_RUNTIME_DIR", "/run/user/0")) / "pulse" / "native"
    if "PULSE_SERVER" in os.environ or runtime.exists():
        return True
    return any((root / "dev" / "snd").glob("pcm*p"))
