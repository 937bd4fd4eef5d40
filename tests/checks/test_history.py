from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from strikebridge.checks.history import (
    CheckRecord,
    History,
    HistoryRecord,
    OverloadRecord,
    Verdict,
    Way,
    append_record,
    board_file,
    open_overload,
    read_history,
    standing,
)
from strikebridge.errors import CheckError

if TYPE_CHECKING:
    from pathlib import Path

MADE = "2026-03-01T18:00:00+01:00"
NOW = datetime.fromisoformat("2026-03-20T18:00:00+01:00")


def check(
    days: float, verdict: Verdict = Verdict.GOOD, certificate: str = "abc"
) -> CheckRecord:
    at = datetime.fromisoformat(MADE) + timedelta(days=days)
    return CheckRecord(
        at=at.isoformat(),
        board="wall-left 1.2",
        address="serial:/dev/ttyUSB0",
        certificate=certificate,
        verdict=verdict,
        way=Way.PLATE,
        zero=(8123.25,),
        u_zero=(3.5,),
        zero_N=1.25,
        noise_N=0.03,
        load_N=196.1,
        gain_error=-0.0012,
        gain_u95=0.004,
    )


def overload(days: float) -> OverloadRecord:
    at = datetime.fromisoformat(MADE) + timedelta(days=days)
    return OverloadRecord(at=at.isoformat(), force_N=2100.0, rating_N=1961.3)


def said(*records: HistoryRecord) -> str:
    return standing(History(records), "abc", MADE, NOW)


def test_what_was_written_is_read_again(tmp_path: Path) -> None:
    path = board_file(tmp_path, "wall-left 1.2", "serial:/dev/ttyUSB0")
    records: list[HistoryRecord] = [check(1), overload(2), check(3, Verdict.CELL_DAMAGED)]
    for record in records:
        append_record(path, record)
    assert read_history(path) == History(tuple(records), 0)
    assert path.read_text().count("\n") == 3


def test_a_torn_line_costs_only_itself(tmp_path: Path) -> None:
    path = board_file(tmp_path, "wall", "")
    append_record(path, check(1))
    with path.open("ab") as file:
        file.write(b'{"kind":"check","at":"2026-0')
    append_record(path, check(3))
    with path.open("ab") as file:
        file.write(b'{"kind":"overload","at":"soon","force_N":1.0,"rating_N":1.0}\n\xff\n')
    history = read_history(path)
    assert history.records == (check(1), check(3))
    assert history.damaged == 3


def test_a_board_without_a_file_has_no_history(tmp_path: Path) -> None:
    assert read_history(board_file(tmp_path, "wall", "")) == History()


@pytest.mark.parametrize(
    ("board", "address", "name"),
    [
        ("wall-left 1.2", "serial:/dev/ttyUSB0", "wall-left"),
        ("wall-left 1.3", "serial:/dev/ttyACM3", "wall-left"),  # new firmware, another plug
        ("", "serial:/dev/ttyUSB0?baud=9600", "serial-dev-ttyusb0"),
        ("", "../../etc/passwd", "etc-passwd"),
        ("", "", "board"),
    ],
)
def test_a_board_is_known_by_its_name_or_its_plug(
    tmp_path: Path, board: str, address: str, name: str
) -> None:
    assert board_file(tmp_path, board, address) == tmp_path / "checks" / f"{name}.jsonl"


def test_a_history_that_cannot_be_used_is_said(tmp_path: Path) -> None:
    path = board_file(tmp_path, "wall", "")
    path.mkdir(parents=True)
    with pytest.raises(CheckError, match="cannot be read"):
        read_history(path)
    with pytest.raises(CheckError, match="cannot be written"):
        append_record(path, check(1))


def test_an_overload_asks_until_a_good_check_or_a_new_calibration() -> None:
    history = History((check(1), overload(2), check(3, Verdict.CELL_DAMAGED)))
    assert open_overload(history, MADE) == overload(2)
    assert open_overload(History((*history.records, check(4))), MADE) is None
    assert open_overload(history, check(3).at) is None
    assert open_overload(History((check(1),)), MADE) is None
    assert open_overload(History((check(1, Verdict.ZERO_MOVED),)), MADE) is None


@pytest.mark.parametrize(
    ("records", "words"),
    [
        ((check(18.5),), ""),
        ((check(13),), ""),
        ((), "This board was calibrated 19 days ago: run verify before the session."),
        ((check(1),), "last checked 18 days ago"),
        ((check(18, certificate="other"),), "calibrated 19 days ago"),
        ((check(18, Verdict.GAIN_MOVED),), "a day ago, said gain moved: calibrate again"),
        ((check(18.9, Verdict.ZERO_MOVED),), "less than a day ago, said zero moved: see that"),
        ((overload(12), check(13, Verdict.ZERO_MOVED)), "overloaded 7 days ago"),
    ],
)
def test_one_sentence_before_a_session(records: tuple[HistoryRecord, ...], words: str) -> None:
    assert (words in said(*records)) if words else not said(*records)


def test_a_fresh_calibration_is_a_check() -> None:
    assert not standing(History(), "abc", (NOW - timedelta(days=6)).isoformat(), NOW)
