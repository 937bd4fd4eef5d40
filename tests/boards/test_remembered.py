"""What was said once about a board is used again, and only for that board."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from strikebridge.boards.remembered import FILE, board_key, remember_shape, shape_of
from strikebridge.errors import AddressError, RecordingError

PORT = "serial:/dev/ttyUSB0?baud=9600"


def plugged(monkeypatch: pytest.MonkeyPatch, **ports: str | None) -> None:
    """Let the system list ports with plugs: name of the port -> serial number."""
    found = [
        SimpleNamespace(device=f"/dev/{name}", vid=0x1A86, pid=0x7523, serial_number=serial)
        for name, serial in ports.items()
    ]
    monkeypatch.setattr("serial.tools.list_ports.comports", lambda: found)


def test_nothing_is_known_at_first(tmp_path: Path) -> None:
    assert shape_of(PORT, "auto", tmp_path) == "auto"
    assert shape_of(PORT, "auto", None) == "auto"
    assert not (tmp_path / FILE).exists()


def test_a_shape_is_kept_for_its_board_alone(tmp_path: Path) -> None:
    remember_shape(PORT, "<ms>,<kg>", tmp_path / "data")
    assert shape_of("serial:/dev/ttyUSB0", "auto", tmp_path / "data") == "<ms>,<kg>"
    assert shape_of("serial:/dev/ttyUSB1", "auto", tmp_path / "data") == "auto"
    assert shape_of(PORT, "bare-integers", tmp_path / "data") == "bare-integers"
    assert shape_of(f"{PORT}&shape=<count>", "auto", tmp_path / "data") == "<count>"
    remember_shape(PORT, "auto", tmp_path / "data")
    assert shape_of(PORT, "auto", tmp_path / "data") == "auto"


def test_a_plug_is_known_again_at_another_port(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plugged(monkeypatch, ttyUSB0="A1")
    assert board_key(PORT) == "usb:1a86:7523:A1"
    remember_shape(PORT, "<kg>", tmp_path)
    plugged(monkeypatch, ttyUSB0=None, ttyUSB3="A1")
    assert shape_of("serial:/dev/ttyUSB3", "auto", tmp_path) == "<kg>"
    assert shape_of(PORT, "auto", tmp_path) == "auto"


@pytest.mark.parametrize("text", ["", "[]", '{"serial:/dev/ttyUSB0": 5}', "\xff"])
def test_a_damaged_file_knows_nothing(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE).write_text(text, encoding="latin-1")
    assert shape_of(PORT, "auto", tmp_path) == "auto"


def test_a_shape_that_a_hand_spoilt_is_not_used(tmp_path: Path) -> None:
    (tmp_path / FILE).write_text('{"serial:/dev/ttyUSB0": "<stone>"}')
    assert shape_of(PORT, "auto", tmp_path) == "auto"


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file")
    with pytest.raises(RecordingError, match="cannot be written"):
        remember_shape(PORT, "<kg>", tmp_path / "data")


def test_what_is_no_address_is_said() -> None:
    with pytest.raises(AddressError):
        shape_of("nowhere", "auto", None)
