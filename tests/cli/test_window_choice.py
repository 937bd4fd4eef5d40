"""What the commands that open a window hand to it; the window itself is tested elsewhere."""

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from strikebridge.boards.serial_link import Port
from strikebridge.cli import run
from strikebridge.errors import ScreenError
from strikebridge.recording import RecordingReader
from strikebridge.samples import Effort, Prescription
from strikebridge.screens.app import WindowOptions
from strikebridge.screens.start_model import Lead, Row, Standing
from strikebridge.station import Station
from strikebridge.units import ForceUnit
from tests.cli.streams import simulated_recording

Capture = pytest.CaptureFixture[str]


class Windows:
    """Stand in for the window: keep what it was given, end at once."""

    def __init__(self) -> None:
        self.opened: list[tuple[Station, float | None, WindowOptions | None]] = []
        self.error: ScreenError | None = None
        self.leads: list[Lead] = [Lead.WALL]
        self.starts: list[tuple[Sequence[Row], str]] = []

    def run_start(
        self, look: Callable[[], Sequence[Row]], options: WindowOptions, said: str = ""
    ) -> Lead | None:
        """Go where the next lead says, then close."""
        self.starts.append((look(), said))
        return self.leads.pop(0) if self.leads else None

    def run_window(
        self,
        make: Callable[[], Station],
        *,
        seconds: float | None = None,
        options: WindowOptions | None = None,
    ) -> int:
        if self.error is not None:
            raise self.error
        self.opened.append((make(), seconds, options))
        return 0


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> Windows:
    kept = Windows()
    for command in ("window", "demo", "replay"):
        monkeypatch.setattr(f"strikebridge.cli.{command}.run_window", kept.run_window)
    monkeypatch.setattr("strikebridge.cli.starting.run_start", kept.run_start)
    # the caution of the first start has tests of its own, and would wait for a key
    monkeypatch.setattr("strikebridge.cli.club_desk.run_pages", lambda *_: None)
    return kept


def plug_in(monkeypatch: pytest.MonkeyPatch, *ports: Port) -> None:
    monkeypatch.setattr("strikebridge.boards.serial_link.list_ports", lambda: list(ports))
    monkeypatch.setattr("strikebridge.cli.board_list.list_ports", lambda: list(ports))


ONE = Port("serial:/dev/ttyUSB0", "USB serial", is_usb=True)
OTHER = Port("serial:/dev/ttyACM0", "bench board", is_usb=True)
BUILT_IN = Port("serial:/dev/ttyS0", "built in", is_usb=False)


def test_without_a_command_the_window_opens(
    tmp_path: Path, windows: Windows, monkeypatch: pytest.MonkeyPatch
) -> None:
    plug_in(monkeypatch, BUILT_IN, ONE)
    assert run(["--data", str(tmp_path / "data")]) == 0
    ((station, seconds, options),) = windows.opened
    assert seconds is None
    assert options is not None
    assert options.speaker is station.setup.speaker is not None
    silent = replace(options, speaker=None)
    assert silent == WindowOptions("dark", is_full_screen=False, can_check=True)
    setup = station.setup
    assert setup.address == ONE.address
    assert setup.plan.prescription == Prescription(Effort.MAXIMAL, 3.0)
    assert (setup.plan.is_rounds, setup.is_patient) == (False, True)
    assert setup.recording is not None
    assert setup.recording.parent == tmp_path / "data" / "recordings"
    assert setup.recording.parent.is_dir()


def test_everything_that_is_said_reaches_the_window(tmp_path: Path, windows: Windows) -> None:
    words = (
        "--board simulated: --silent --rounds --light --full-screen --unit lb --band-n 200 300"
    )
    assert run([*words.split(), "--data", str(tmp_path)]) == 0
    ((station, _, options),) = windows.opened
    assert options == WindowOptions("light", ForceUnit.LB, is_full_screen=True, can_check=True)
    setup = station.setup
    assert (setup.address, setup.unit) == ("simulated:", "lb")
    assert setup.plan.is_rounds
    asked = Prescription(Effort.SUBMAXIMAL, 5.0, (200.0, 300.0))
    assert setup.plan.prescription == asked


@pytest.mark.parametrize(
    ("address", "said", "code"),
    [
        ("nonsense", "'nonsense' is no address", 2),
        ("serial:", "names no port", 2),
        ("simulated:?rate=80", "'rate' is no option", 2),
        ("replay:none.jsonl", "none.jsonl cannot be read", 1),
    ],
)
def test_an_address_that_is_none_opens_no_window(
    tmp_path: Path, windows: Windows, capsys: Capture, address: str, said: str, code: int
) -> None:
    assert run(["--board", address, "--data", str(tmp_path)]) == code
    assert said in capsys.readouterr().err
    assert windows.opened == []


@pytest.mark.parametrize("ports", [(), (BUILT_IN,), (ONE, OTHER)])
def test_without_one_board_the_start_page_says_so_and_offers_the_simulated_one(
    tmp_path: Path, windows: Windows, monkeypatch: pytest.MonkeyPatch, ports: tuple[Port, ...]
) -> None:
    plug_in(monkeypatch, *ports)
    windows.leads = [Lead.WALL]  # a board that has gone meanwhile
    assert run(["--data", str(tmp_path)]) == 0
    assert windows.opened == []
    first, again = windows.starts
    assert (first[1], again[1]) == ("", "The board has gone. Plug it in again.")
    board = first[0][0]
    assert (board.standing, board.lead) == (Standing.MISSING, Lead.SIMULATED)
    assert ("Several" in board.words) is (len(ports) == 2)
    assert not any(row.lead is Lead.WALL for row in first[0])


def test_the_simulated_board_is_used_once_it_was_chosen(
    tmp_path: Path, windows: Windows, monkeypatch: pytest.MonkeyPatch
) -> None:
    plug_in(monkeypatch)
    windows.leads = [Lead.SIMULATED, Lead.WALL]
    assert run(["--data", str(tmp_path), "--silent"]) == 0
    ((station, _, options),) = windows.opened
    assert station.setup.address == "simulated:"
    assert options is not None
    assert options.speaker is station.setup.speaker is None
    rows = windows.starts[-1][0]
    assert rows[0].words.startswith("An invented athlete")
    assert rows[1].words == "The simulated board brings its own."


def test_a_fault_behind_a_row_comes_back_to_the_start_page(
    tmp_path: Path, windows: Windows, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    plug_in(monkeypatch, ONE)
    (tmp_path / "plates.csv").write_text("name;mass_kg\n")
    windows.leads = [Lead.CALIBRATE]
    assert run(["--data", str(tmp_path)]) == 0
    said = windows.starts[1][1]
    assert said
    assert said in capsys.readouterr().err
    assert "Plates: as in plates.csv." in windows.starts[0][0][1].words


def test_the_ports_in_words_and_as_a_document(
    monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    plug_in(monkeypatch, ONE, OTHER)
    assert run(["boards", "--no-bluetooth"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines == [f"{port.address}   {port.name}" for port in (ONE, OTHER)]
    assert run(["boards", "--no-bluetooth", "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)["boards"]
    assert [port["address"] for port in listed] == [ONE.address, OTHER.address]
    plug_in(monkeypatch)
    assert run(["boards", "--no-bluetooth"]) == 0
    assert "boards simulated:" in capsys.readouterr().out


def test_the_demo_has_a_window(tmp_path: Path, windows: Windows) -> None:
    words = ["demo", "--seed", "4", "--seconds", "9", "--data", str(tmp_path)]
    assert run([*words, "--pictures", str(tmp_path / "pictures")]) == 0
    ((station, seconds, options),) = windows.opened
    assert options is not None
    silent = replace(options, speaker=None)
    assert (seconds, silent) == (9.0, WindowOptions(pictures=tmp_path / "pictures"))
    assert station.setup.address == "simulated:?rate_hz=80&seed=4"
    assert station.setup.plan.is_rounds


def test_a_demo_without_a_screen_goes_on_in_the_terminal(
    tmp_path: Path, windows: Windows, capsys: Capture
) -> None:
    windows.error = ScreenError("There is no screen here.")
    assert run(["demo", "--seconds", "1", "--data", str(tmp_path)]) == 0
    captured = capsys.readouterr()
    assert captured.err == (
        "strikebridge: There is no screen here. Going on in the terminal.\n"
    )
    assert "0 holds, recorded in " in captured.out
    (recording,) = (tmp_path / "recordings").iterdir()
    assert str(recording) in captured.out
    assert list(RecordingReader(recording))


def test_a_window_that_cannot_open_is_one_sentence(
    tmp_path: Path, windows: Windows, capsys: Capture
) -> None:
    windows.error = ScreenError("There is no screen here.")
    assert run(["--board", "simulated:", "--data", str(tmp_path)]) == 1
    assert capsys.readouterr().err == "strikebridge: There is no screen here.\n"


def test_a_replay_has_a_window(tmp_path: Path, windows: Windows) -> None:
    path = simulated_recording(tmp_path / "a.jsonl", seconds=1.0)
    assert run(["replay", str(path), "--speed", "2", "--unit", "N"]) == 0
    ((station, _, _),) = windows.opened
    assert station.setup.address == f"replay:{path}?speed=2"
    assert (station.setup.unit, station.setup.recording) == ("N", None)
