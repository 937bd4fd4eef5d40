from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import msgspec
import pytest

from strikebridge.calibration.certificate import Certificate, plain_certificate
from strikebridge.calibration.shelf import (
    Shelf,
    age_words,
    board_words,
    file_name,
    place_of,
)
from strikebridge.errors import CalibrationError
from strikebridge.samples import Identity

if TYPE_CHECKING:
    from pathlib import Path


def made(at: str, *, board: str = "", address: str = "serial:COM5") -> Certificate:
    plain = plain_certificate(0.005, 100.0, made_at=at, range_N=(0.0, 800.0))
    return msgspec.structs.replace(plain, board=board, address=address)


def named(name: str, firmware: str = "2.0") -> Identity:
    return Identity(name, firmware, "hx711", 80.0, 0.05)


def test_what_is_put_there_is_found_by_its_id(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    certificate = made("2026-03-01T18:30:00+01:00", board="wall-left 1.2")
    path = shelf.put(certificate)
    assert path == tmp_path / "certificates" / f"wall-left-2026-03-01-{certificate.id}.json"
    assert shelf.find(certificate.id) == certificate
    assert shelf.find(certificate.id[:5]) == certificate


def test_putting_it_there_again_changes_nothing(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    certificate = made("2026-03-01T18:30:00+01:00")
    path = shelf.put(certificate)
    before = path.stat()
    assert shelf.put(certificate) == path
    assert path.stat().st_mtime_ns == before.st_mtime_ns
    assert len(shelf.all()) == 1


def test_an_empty_shelf_and_one_that_is_not_there(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path / "none")
    assert shelf.all() == []
    assert shelf.newest(None, "serial:COM5") is None
    with pytest.raises(CalibrationError, match="No certificate begins with 'abc'"):
        shelf.find("abc")


def test_the_newest_is_by_the_moment_and_not_by_the_text(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    # 23:00 at +05:00 is 18:00 UTC, before 19:30 UTC, though its text sorts behind
    early = made("2026-03-01T23:00:00+05:00", board="wall 1")
    late = made("2026-03-01T19:30:00+00:00", board="wall 1")
    old = made("2025-12-31T09:00:00+00:00", board="wall 1")
    for one in (late, old, early):
        shelf.put(one)
    assert [one.certificate for one in shelf.all()] == [late, early, old]
    assert shelf.newest(named("wall"), "serial:COM9") == late


def test_a_board_is_known_by_its_name_wherever_it_is_plugged_in(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    left = made("2026-01-01T00:00:00+00:00", board="left 1.0", address="serial:COM5")
    right = made("2026-02-01T00:00:00+00:00", board="right 1.0", address="serial:COM5")
    mute = made("2026-03-01T00:00:00+00:00", address="serial:COM5?baud=9600")
    for one in (left, right, mute):
        shelf.put(one)
    assert shelf.newest(named("left", "7.3"), "serial:COM5") == left
    assert shelf.newest(named("right"), "serial:/dev/ttyUSB0") == right
    # one that has a name is never taken for one that has none, nor the other way round
    assert shelf.newest(named("other"), "serial:COM5") is None
    assert shelf.newest(None, "serial:COM5") == mute
    assert shelf.newest(named(""), "serial:COM5?baud=115200") == mute
    assert shelf.newest(None, "serial:COM6") is None


def test_a_damaged_file_is_said_and_does_not_hide_the_others(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    sound = made("2026-01-01T00:00:00+00:00")
    shelf.put(sound)
    torn = shelf.put(made("2026-02-01T00:00:00+00:00"))
    document = json.loads(torn.read_text("utf-8")) | {"u_relative": 0.5}
    torn.write_text(json.dumps(document), "utf-8")
    assert [one.certificate for one in shelf.all()] == [sound]
    assert len(shelf.damaged) == 1
    assert torn.name in shelf.damaged[0]
    assert "altered" in shelf.damaged[0]
    torn.unlink()
    shelf.all()
    assert shelf.damaged == []


def test_a_beginning_that_two_share_is_refused(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    ids: dict[str, int] = {}
    for second in range(60):
        one = made(f"2026-01-01T00:00:{second:02d}+00:00")
        shelf.put(one)
        ids[one.id[0]] = ids.get(one.id[0], 0) + 1
    shared = max(ids, key=lambda first: ids[first])
    with pytest.raises(CalibrationError, match=f"{ids[shared]} certificates begin"):
        shelf.find(shared)
    with pytest.raises(CalibrationError, match="No certificate begins with ''"):
        shelf.find("")


def test_a_folder_that_cannot_be_made_or_read_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "certificates").write_text("in the way", "utf-8")
    with pytest.raises(CalibrationError, match="cannot be made"):
        Shelf(tmp_path).put(made("2026-01-01T00:00:00+00:00"))


def test_a_folder_that_refuses_to_be_listed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf = Shelf(tmp_path)

    def refuse(*_: object) -> list[Path]:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(type(tmp_path), "glob", refuse)
    with pytest.raises(CalibrationError, match=r"cannot be read \(Permission denied\)"):
        shelf.all()


@pytest.mark.parametrize(
    ("board", "address", "beginning"),
    [
        ("Wall/Left 1.0", "", "wall-left-2026"),
        ("", "serial:/dev/ttyUSB0?baud=9600", "serial-dev-ttyusb0-2026"),
        ("", "", "board-2026"),
        ("../..", "", "board-2026"),
        ("x" * 90, "", "x" * 40 + "-2026"),
    ],
)
def test_names_are_safe_on_every_system(board: str, address: str, beginning: str) -> None:
    name = file_name(made("2026-01-01T00:00:00+00:00", board=board, address=address))
    assert name.startswith(beginning)
    assert name.isascii()
    assert not set(name) & set('/\\:*?"<>| ')


def test_words_of_a_board() -> None:
    assert board_words(named("wall-left", "1.2")) == "wall-left 1.2"
    assert board_words(named("wall-left", "")) == "wall-left"
    assert board_words(named("", "1.2")) == ""
    assert board_words(None) == ""
    assert place_of("serial:/dev/ttyUSB0?baud=9600") == "serial:/dev/ttyUSB0"
    assert place_of("serial:COM5") == "serial:COM5"


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (-3.0, "made less than a day ago"),
        (0.9, "made less than a day ago"),
        (1.5, "made 1 day ago"),
        (400.0, "made 400 days ago"),
    ],
)
def test_how_old_it_is(days: float, words: str) -> None:
    certificate = made("2026-01-01T00:00:00+00:00")
    now = datetime.fromisoformat(certificate.made_at) + timedelta(days=days)
    assert age_words(certificate, now) == words
