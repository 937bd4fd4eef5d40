"""Bluetooth from the commands down to bleak and D-Bus, on a stand-in of BlueZ."""

import itertools
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from strikebridge.analysis import analyse_file
from strikebridge.boards import radio
from strikebridge.calibration.apply import Calibration
from strikebridge.cli import run
from strikebridge.glance import Phase
from strikebridge.recording import RecordingReader
from strikebridge.samples import Event, Prescription, Rep
from strikebridge.session.conductor import Plan
from strikebridge.station import Station, StationSetup
from strikebridge.stream_setup import Setup
from tests.boards import radio_devices as air
from tests.radio.bluez import Bluez, Bus
from tests.radio.peripheral import (
    Peripheral,
    bthome_scale,
    number_device,
    stream_board,
    weight_scale,
)
from tests.running import WITHIN_S, running

if TYPE_CHECKING:
    from strikebridge.pipeline import Outcome

pytestmark = pytest.mark.ble_virtual
Capture = pytest.CaptureFixture[str]

GAIN_N_PER_COUNT = 0.005
ZERO = 84_000


@pytest.fixture
def bluez(bus: Bus, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bluez]:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus.address)
    monkeypatch.setattr(radio, "FIND_WITHIN_S", WITHIN_S)
    monkeypatch.setattr(radio, "CONNECT_WITHIN_S", WITHIN_S)
    monkeypatch.setattr("strikebridge.cli.board_list.LISTEN_S", 1.5)
    with Bluez(bus.address) as bluez:
        yield bluez


def test_boards_lists_what_is_in_range(bluez: Bluez, capsys: Capture) -> None:
    for device in (weight_scale(), bthome_scale(), number_device()):
        bluez.wait_for(bluez.a_add(device))
    assert run(["boards"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "ble:C0:5E:00:00:00:01   Gym scale, Bluetooth scale" in lines
    assert "advert:C0:5E:00:00:00:02   DIY scale, BTHome scale" in lines
    also = lines.index("Also in range; one that says its unit can be used:")
    assert lines[also + 1] == "ble:C0:5E:00:00:00:03   Force box, some Bluetooth device"
    assert run(["boards", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["bluetooth"] is None
    assert "advert:C0:5E:00:00:00:02" in [board["address"] for board in document["boards"]]


def test_boards_says_in_a_sentence_that_there_is_no_bluetooth(
    bus: Bus, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus.address)  # nobody answers there
    assert run(["boards"]) == 0
    captured = capsys.readouterr()
    assert captured.out
    assert captured.err.splitlines() == [
        "This computer has no Bluetooth that can be used; a board on a cable works without."
    ]
    assert run(["boards", "--json"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    assert "no Bluetooth" in json.loads(captured.out)["bluetooth"]


def test_a_scale_is_watched_and_said_to_be_slow(bluez: Bluez, capsys: Capture) -> None:
    scale = weight_scale()
    bluez.wait_for(bluez.a_add(scale))
    masses = itertools.cycle([20.0, 20.005])
    bluez.play(scale, air.WEIGHT, map(air.kilograms, masses), 0.1)
    assert run(["boards", f"ble:{scale.address}", "--seconds", "2.5"]) == 0
    out = capsys.readouterr().out
    assert "weight-scale" in out
    assert "carry the hold force and a rough peak" in out
    assert "one value when it has settled" in out
    assert "battery is down to 11 %" in out


def test_a_device_that_is_not_there(
    bluez: Bluez, capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(radio, "FIND_WITHIN_S", 1.0)
    output = tmp_path / "none.jsonl"
    assert run(["record", "ble:C0:5E:00:00:00:77", "--output", str(output)]) == 1
    message = capsys.readouterr().err
    assert "does not answer" in message
    assert "Traceback" not in message
    assert not output.exists()


def test_a_scale_that_sleeps(bluez: Bluez, capsys: Capture) -> None:
    words = ["boards", "advert:C0:5E:00:00:00:77?key=231d39c1d7cc1ab1aee224cd096db932"]
    assert run([*words, "--seconds", "0.5"]) == 1
    message = capsys.readouterr().err
    assert "sleep until they are loaded" in message
    assert "231d" not in message


def stream(punches_at_s: tuple[float, ...]) -> Iterator[bytes]:
    """Blocks of an 80 /s board on which holds of 2.5 s are pushed, for ever."""
    for first in itertools.count(0, 4):
        rows = []
        for n in range(first, first + 4):
            force_N = sum(9.81 * air.punch_kg(n / 80.0 - at_s + 4.0) for at_s in punches_at_s)
            rows.append([round(ZERO + force_N / GAIN_N_PER_COUNT + 12 * (n * 7 % 5 - 2))])
        yield air.block(first, 1_000_000 + 12_500 * first, rows)


def values(rep: Rep) -> dict[str, float | None]:
    return {name: one.value for name, one in rep.measures.items()}


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_a_hold_cut_by_a_lost_connection(
    bluez: Bluez, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    board = stream_board()
    bluez.wait_for(bluez.a_add(board))
    found: list[Outcome] = []
    path = tmp_path / "cut.jsonl"
    setup = StationSetup(
        address=f"ble:{board.address}",
        plan=Plan(Prescription()),
        recording=path,
        by_hand=Calibration.by_hand(GAIN_N_PER_COUNT, ZERO),
        seconds=16.0,
        is_patient=True,
    )
    station = Station(setup, on_outcome=found.append)
    with running(station):
        bluez.play(board, air.STREAM_BLOCK, stream((2.5, 11.0)), 0.05)

        def is_held() -> bool:
            force_N = station.glance().force_N
            return force_N is not None and force_N > 400.0 and station.seconds > 4.5

        wait_until(station, is_held)
        monkeypatch.setattr(radio, "FIND_WITHIN_S", 1.0)  # from now on it is looked for again
        bluez.wait_for(bluez.a_take_away(board))
        wait_until(station, lambda: "connection" in str(station.glance().trouble))
        wait_until(station, lambda: station.seconds > 6.3)  # by then he has let go
        bluez.wait_for(bluez.a_bring_back(board))
        assert station.wait(WITHIN_S)
    assert station.error is None
    cut, whole = [one for one in found if isinstance(one, Rep)]
    assert not cut.hold.complete
    assert whole.hold.complete
    assert whole.measures["peak_force"].value == pytest.approx(50.0 * 9.81, rel=0.02)

    records = list(RecordingReader(path))
    kinds = [record.kind for record in records if isinstance(record, Event)]
    assert [kind for kind in kinds if kind in ("lost", "back")] == ["lost", "back"]
    again = analyse_file(path, Setup(Calibration.by_hand(GAIN_N_PER_COUNT, ZERO)))
    assert [values(rep) for rep in again.reps] == [values(rep) for rep in (cut, whole)]


def wait_until(station: Station, is_so: object) -> None:
    """Wait on the station for a condition, with a deadline."""
    assert callable(is_so)
    for _ in range(int(WITHIN_S / 0.01)):
        if is_so():
            return
        assert not station.wait(0.01), station.error
    pytest.fail("it never came")


@pytest.mark.timeout(180)
def test_a_button_says_go(bluez: Bluez, tmp_path: Path) -> None:
    puck = Peripheral("C0:5E:00:00:00:06", "Puck", service_data=air.press(1, 0))
    bluez.wait_for(bluez.a_add(puck))
    path = tmp_path / "go.jsonl"
    setup = StationSetup(
        address="simulated:?athlete=listens",
        plan=Plan(Prescription(hold_s=3.0)),
        recording=path,
        remote=f"advert:{puck.address}",
    )
    station = Station(setup)
    with running(station):
        wait_until(station, lambda: station.glance().force_N is not None)
        assert station.glance().phase in (Phase.WAITING, Phase.READY)
        bluez.wait_for(bluez.a_advertise(puck, air.press(2, 1)))
        wait_until(station, lambda: station.glance().phase not in (Phase.WAITING, Phase.READY))
    assert station.error is None
    keys = [r for r in RecordingReader(path) if isinstance(r, Event) and r.kind == "key"]
    assert [key.detail for key in keys] == [{"key": "go"}]


def test_a_remote_that_is_none(tmp_path: Path) -> None:
    setup = StationSetup(address="simulated:?speed=max", remote="ble:C0:5E:00:00:00:06")
    station = Station(setup)
    with running(station):
        assert station.wait(WITHIN_S)
    assert "is no remote" in str(station.error)


def test_bleak_is_not_imported_before_it_is_needed() -> None:
    code = (
        "import sys, strikebridge.cli.window, strikebridge.cli.boards, strikebridge.station; "
        "sys.exit(any(name in sys.modules for name in ('bleak', 'cryptography')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
