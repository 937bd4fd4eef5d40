"""A restore puts everything in place or nothing, and can be taken back."""

from __future__ import annotations

import contextlib
import json
import re
import shutil
import sqlite3
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from strikebridge.cli import run
from strikebridge.errors import SafekeepingError, StoreError
from strikebridge.safekeeping.backup import make_backup
from strikebridge.safekeeping.contents import set_aside
from strikebridge.safekeeping.exchange import JOB, Exchange, Step, read_job, write_job
from strikebridge.safekeeping.one_at_a_time import one_at_a_time
from strikebridge.safekeeping.restore import restore_backup, take_back
from strikebridge.safekeeping.settling import settle
from strikebridge.store.database import FILE, open_store
from strikebridge.store.migrations import newest
from tests.safekeeping.made import FILES, database_of, state_of
from tests.store.shape import load_dump
from tests.store.test_migrations import DUMPS, check

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="kills and forks as POSIX does")


@pytest.fixture
def backup(data: Path, tmp_path: Path) -> Path:
    """A backup of the data folder; its plates and its points go missing afterwards."""
    made = make_backup(data, tmp_path / "b.zip").path
    (data / "plates.csv").unlink()
    shutil.rmtree(data / "points")
    return made


def test_a_new_laptop_gets_all_of_it(data: Path, backup: Path, tmp_path: Path) -> None:
    new = tmp_path / "new"
    restored = restore_backup(new, backup)
    assert (restored.athletes, restored.sessions, restored.aside) == (2, 1, None)
    assert {name: (new / name).read_bytes() for name in FILES} == FILES
    assert database_of(new) == database_of(data)
    assert {path.stat().st_mode & 0o077 for path in (new, *new.rglob("*"))} == {0}


def test_what_was_there_is_kept_and_comes_back(data: Path, backup: Path) -> None:
    (data / "holiday.txt").write_text("no business of ours")
    before = state_of(data)
    restored = restore_backup(data, backup)
    after = state_of(data)
    assert after != before
    assert restored.aside is not None
    assert state_of(restored.aside) == before
    taken_back = take_back(data)
    assert state_of(data) == before
    assert taken_back.aside is not None
    assert set_aside(data) == [taken_back.aside]
    take_back(data)  # and forth again
    assert state_of(data) == after
    assert (data / "holiday.txt").read_text() == "no business of ours"


def test_nothing_to_take_back_is_said(data: Path) -> None:
    with pytest.raises(SafekeepingError, match="nothing to take back"):
        take_back(data)


def test_it_is_refused_while_somebody_has_the_database_open(data: Path, backup: Path) -> None:
    before = state_of(data)
    with (
        contextlib.closing(open_store(data)),
        pytest.raises(StoreError, match="another window is open, or a session is running"),
    ):
        restore_backup(data, backup)
    assert state_of(data) == before
    assert set_aside(data) == []
    restore_backup(data, backup)


def test_a_damaged_database_is_replaced(data: Path, backup: Path) -> None:
    (data / FILE).write_bytes(b"Not a database at all. " * 100)
    restored = restore_backup(data, backup)
    assert restored.athletes == 2
    assert restored.aside is not None
    assert (restored.aside / FILE).read_bytes().startswith(b"Not a database")


def changed_tables(data: Path, words: str) -> None:
    with contextlib.closing(sqlite3.connect(data / FILE)) as at:
        at.executescript(words)


def test_a_backup_with_newer_tables_is_refused_in_words(data: Path, tmp_path: Path) -> None:
    newer = shutil.copytree(data, tmp_path / "newer")
    changed_tables(newer, f"UPDATE schema_version SET version = {newest() + 1}")
    backup = make_backup(newer, tmp_path / "newer.zip").path
    before = state_of(data)
    with pytest.raises(SafekeepingError, match=r"newer strikebridge.*Nothing was changed"):
        restore_backup(data, backup)
    assert state_of(data) == before


def test_a_backup_with_something_unknown_is_of_a_newer_program(
    data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (data / "dreams.json").write_bytes(b"{}")
    with monkeypatch.context() as newer:
        contents = "strikebridge.safekeeping.contents.CONTENTS"
        newer.setattr(contents, {FILE: "", "dreams.json": "of the next version"})
        backup = make_backup(data, tmp_path / "newer.zip").path
    with pytest.raises(SafekeepingError, match="newer strikebridge"):
        restore_backup(data, backup)


@pytest.mark.parametrize("dump", DUMPS, ids=lambda path: path.stem)
def test_a_backup_of_every_earlier_version_is_led_to_today(dump: Path, tmp_path: Path) -> None:
    load_dump(dump, tmp_path / "old" / FILE)
    backup = make_backup(tmp_path / "old", tmp_path / "old.zip").path
    restored = restore_backup(tmp_path / "new", backup)
    assert restored.athletes == 2
    with contextlib.closing(open_store(tmp_path / "new")) as store:
        check(store)


def test_a_damaged_backup_changes_nothing(data: Path, backup: Path) -> None:
    before = state_of(data)
    raw = bytearray(backup.read_bytes())
    raw[300] ^= 0x55
    backup.write_bytes(raw)
    with pytest.raises(SafekeepingError, match=r"damaged.*Nothing was changed"):
        restore_backup(data, backup)
    assert state_of(data) == before
    assert not (data / "safekeeping.part").exists()


def test_a_database_that_was_damaged_when_it_was_packed_is_refused(
    data: Path, tmp_path: Path
) -> None:
    changed_tables(data, "PRAGMA foreign_keys=OFF; DELETE FROM athlete")
    with pytest.raises(StoreError, match="The database in it is damaged"):
        make_backup(data, tmp_path / "bad.zip")
    assert not (tmp_path / "bad.zip").exists()


def test_a_file_in_use_is_said_and_all_is_put_back(
    data: Path, backup: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = state_of(data)
    # a folder that nothing can be moved into stands for Windows, where what is open stays put
    monkeypatch.setattr("strikebridge.safekeeping.restore._aside_name", lambda _: "checks/in")
    with pytest.raises(SafekeepingError, match=r"is in use .*Nothing was changed"):
        restore_backup(data, backup)
    assert state_of(data) == before
    assert not (data / JOB).exists()


def test_what_came_between_out_and_in_is_kept(data: Path) -> None:
    source = data / "safekeeping.part" / "new"
    source.mkdir(parents=True)
    (source / "plates.csv").write_text("restored")
    (data / "before-restore-x").mkdir()
    (data / "plates.csv").write_text("made between")
    exchange = Exchange(
        aside="before-restore-x",
        goes=("plates.csv",),
        source="safekeeping.part/new",
        comes=("plates.csv",),
        step=Step.IN,
    )
    write_job(data, exchange)
    assert settle(data) == ["A restore that was broken off has been finished."]
    assert (data / "plates.csv").read_text() == "restored"
    late = data / "before-restore-x" / "late-plates.csv"
    assert late.read_text() == "made between"
    assert settle(data) == []


def test_an_unreadable_note_of_a_job_is_said(data: Path) -> None:
    (data / JOB).write_bytes(b"nonsense")
    with pytest.raises(SafekeepingError, match="newest strikebridge"):
        settle(data)
    assert read_job(data.parent) is None


def test_what_was_left_half_ready_is_cleared_unless_it_is_in_use(data: Path) -> None:
    work = data / "safekeeping.part"
    work.mkdir()
    with one_at_a_time(data):
        subprocess.run(
            [sys.executable, "-m", "strikebridge", "athletes", "list", "--data", str(data)],
            check=True,
            capture_output=True,
        )
        assert work.exists()
    assert settle(data) == []
    assert not work.exists()


def test_a_loose_folder_is_closed_with_a_remark(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (data / "holiday.txt").touch()
    loose = [data, data / "recordings", data / "recordings" / "2026-03-01.jsonl", data / FILE]
    for path in loose:
        path.chmod(0o755 if path.is_dir() else 0o644)
    (data / "holiday.txt").chmod(0o644)
    assert run(["athletes", "list", "--data", str(data)]) == 0
    assert "Others on this computer could look into" in capsys.readouterr().err
    assert {path.stat().st_mode & 0o077 for path in loose} == {0}
    assert (data / "holiday.txt").stat().st_mode & 0o077 == 0o044
    assert run(["athletes", "list", "--data", str(data)]) == 0
    assert capsys.readouterr().err == ""


def test_a_folder_without_people_is_left_as_it_is(tmp_path: Path) -> None:
    tmp_path.chmod(0o755)
    assert settle(tmp_path) == []
    assert tmp_path.stat().st_mode & 0o777 == 0o755
    assert settle(tmp_path / "not-there") == []


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_killed_at_any_moment_it_is_the_old_state_or_the_new() -> None:
    # the campaign in a process of its own, for it forks
    done = subprocess.run(
        [sys.executable, "-m", "tests.safekeeping.restore_kills", "--n", "5", "--each", "10"],
        check=True,
        capture_output=True,
        text=True,
    )
    old, new = re.findall(r": (\d+) times old, (\d+) times new", done.stdout)[0]
    assert int(old) >= 2
    assert int(new) >= 2
    assert sum(int(times) for times in re.findall(r"at random: +(\d+) ", done.stdout)) == 5


def test_the_command_says_what_it_did_and_takes_it_back(
    data: Path, backup: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--data", str(data)]
    assert run(["restore", str(backup), *words]) == 0
    out = capsys.readouterr().out
    assert "is in place now: 2 athletes, 1 session." in out
    assert "restore --undo" in out
    assert run(["restore", "--undo", *words, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert (document["athletes"], document["sessions"]) == (2, 1)
    assert document["aside"].startswith(str(data))
    for wrong in ([], ["--undo", str(backup)]):
        assert run(["restore", *wrong, *words]) == 2
    assert run(["restore", str(data / "no.zip"), *words]) == 1
    assert "cannot be read (No such file" in capsys.readouterr().err
