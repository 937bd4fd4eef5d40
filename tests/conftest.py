"""What holds for every test: none needs a screen, none sees the user's data."""

from __future__ import annotations

import os
import shutil
import signal
import sys
from functools import partial
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from strikebridge.acquisition import Acquisition
from tests.running import WITHIN_MS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from tests.radio.bluez import Bus

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# a shell that starts the tests in the background has Ctrl-C ignored, also by what they start
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# a busy computer is slow, which says nothing of the code: no example has to be done in 200 ms
settings.register_profile("patient", settings(), deadline=None)
settings.load_profile("patient")

# the stand-in of BlueZ speaks D-Bus, for which bleak has a library on Linux only
if sys.platform != "linux":
    collect_ignore = ["cli/test_bluetooth.py"]


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test sees or leaves anything in the data folder of whoever runs it."""
    folder = tmp_path / "user-data"
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_, **__: folder)


@pytest.fixture(autouse=True)
def ended_stations(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """No station outlives its test, not even one that failed.

    A patient one would go on looking for its board, and sooner or later open that of another
    test: the system gives the number of a pseudo-terminal again once it is free.
    """
    started: list[Acquisition] = []
    start = Acquisition.start

    def note(station: Acquisition) -> None:
        started.append(station)
        start(station)

    monkeypatch.setattr(Acquisition, "start", note)
    yield
    for station in started:
        station.stop()


@pytest.fixture
def qtbot(qtbot: QtBot) -> QtBot:
    """Wait for longer than five seconds: a computer may be busy with other tests."""
    patient = partial(qtbot.waitUntil, timeout=WITHIN_MS)
    qtbot.waitUntil = patient  # type: ignore[method-assign]  # its only way to another default
    return qtbot


@pytest.fixture(scope="session")
def bus() -> Iterator[Bus]:
    """A message bus for a stand-in of the system's Bluetooth service."""
    if shutil.which("dbus-daemon") is None:
        if "CI" in os.environ:
            pytest.fail("dbus-daemon is missing: apt-get install dbus")
        pytest.skip("Tests of Bluetooth over D-Bus need dbus-daemon: apt-get install dbus.")
    from tests.radio.bluez import Bus  # noqa: PLC0415 - there is none but on Linux

    bus = Bus()
    yield bus
    bus.close()
