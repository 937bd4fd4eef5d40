"""A check of a board that is another process, through a real serial port."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import msgspec
import pytest

from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.calibration.shelf import Shelf
from strikebridge.check_station import CheckStation, CheckStationSetup
from strikebridge.checks.check_view import CheckKey, CheckState
from strikebridge.checks.history import Verdict
from strikebridge.errors import CheckError
from strikebridge.recording import RecordingReader
from strikebridge.samples import Event, Quantity
from tests.ptys import posix
from tests.running import WITHIN_S, running
from tests.wall import foreign_board

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.calibration.certificate import Certificate

pytestmark = [
    pytest.mark.slow,
    pytest.mark.timeout(180),
    posix,
]


def resting_board(seconds: float) -> tuple[list[bytes], Certificate]:
    """Lines of a rig that nobody touches, and its calibration of today."""
    board = SimulatedBoard(BoardModel(plates_off=0.0))
    lines = [board.identity_line()]
    while board.now_s < seconds:
        lines += [line.data for line in board.next_lines()]
    now = datetime.now().astimezone().isoformat()
    return lines, msgspec.structs.replace(board.certificate(), made_at=now)


def check_of(path: str, data: Path) -> CheckStation:
    setup = CheckStationSetup(f"serial:{path}", data, data / "check.jsonl", is_patient=False)
    return CheckStation(setup)


def test_the_certificate_is_chosen_once_the_board_has_said_its_name(tmp_path: Path) -> None:
    lines, certificate = resting_board(12.0)
    Shelf(tmp_path).put(certificate)
    with foreign_board(lines, period_s=0.003) as (path, _):
        said: list[str] = []
        station = check_of(path, tmp_path)
        station.listen(lambda: said.append(station.view().instruction))
        with running(station):
            assert station.wait(WITHIN_S)
    assert "Getting to know the board." in said[0]
    assert station.error is None
    assert station.certificate == certificate
    assert station.check is not None
    assert station.check.verdict is Verdict.GOOD
    assert [record.certificate for record in station.past] == [certificate.id]
    assert any(certificate.id in remark for remark in station.remarks)
    events = [
        one for one in RecordingReader(tmp_path / "check.jsonl") if isinstance(one, Event)
    ]
    kinds = [event.kind for event in events]
    assert kinds.index("identity") < kinds.index("calibrated") < kinds.index("checked")


def test_a_board_of_another_name_has_no_calibration(tmp_path: Path) -> None:
    lines, certificate = resting_board(4.0)
    Shelf(tmp_path).put(msgspec.structs.replace(certificate, board="other 1.0"))
    with (
        foreign_board(lines, period_s=0.003) as (path, _),
        running(check_of(path, tmp_path)) as station,
    ):
        assert station.wait(WITHIN_S)
    assert isinstance(station.error, CheckError)
    assert "Calibrate it first" in str(station.error)
    assert station.check is None


def test_a_certificate_for_other_readings_is_refused(tmp_path: Path) -> None:
    lines, certificate = resting_board(4.0)
    scale = msgspec.structs.replace(certificate, quantity=Quantity.KG)
    with foreign_board(lines, period_s=0.003) as (path, _):
        setup = CheckStationSetup(f"serial:{path}", tmp_path, certificate=scale)
        with running(CheckStation(setup)) as station:
            assert station.wait(WITHIN_S)
    assert isinstance(station.error, CheckError)
    assert "is for readings in kg" in str(station.error)


def test_it_can_be_cancelled_before_the_board_is_known(tmp_path: Path) -> None:
    _, certificate = resting_board(1.0)
    Shelf(tmp_path).put(certificate)
    with (
        foreign_board([b"# hello\n"] * 400, period_s=0.01) as (path, _),
        running(check_of(path, tmp_path)) as station,
    ):
        station.press(CheckKey.NEXT)
        station.press(CheckKey.CANCEL)
        assert station.wait(WITHIN_S)
    assert station.error is None
    assert station.view().state is CheckState.CANCELLED
    assert station.check is None
