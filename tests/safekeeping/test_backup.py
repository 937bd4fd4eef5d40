"""A backup holds everything of one moment, or is refused and leaves nothing behind."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import time
import zipfile
import zlib
from typing import TYPE_CHECKING

import pytest

from strikebridge.cli import run
from strikebridge.errors import SafekeepingError
from strikebridge.recording import RecordingReader
from strikebridge.safekeeping.archive import MANIFEST, ArchiveReader
from strikebridge.safekeeping.backup import make_backup
from strikebridge.safekeeping.contents import CONTENTS
from strikebridge.safekeeping.job import Doing, Progress, Step, Watch
from strikebridge.safekeeping.one_at_a_time import LOCK, RECORDING, one_at_a_time
from strikebridge.safekeeping.outside import outside_files
from strikebridge.store.copying import check_database
from strikebridge.store.database import FILE, open_store
from strikebridge.store.past import History
from strikebridge.store.place import LOGS
from tests.safekeeping.made import FILES, PLAN, database_of, state_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="uses limits of POSIX")


def unpack(backup: Path, into: Path) -> Path:
    with contextlib.closing(ArchiveReader(backup)) as reader:
        reader.unpack(into, Progress(1))
    return into


def test_everything_is_in_it_and_nothing_else(data: Path, tmp_path: Path) -> None:
    for name in ("half.part", "recordings/half.jsonl.part", "boards.new", "holiday.txt"):
        (data / name).write_bytes(b"no business of a backup")
    steps: list[Step] = []
    made = make_backup(data, tmp_path / "b.zip", steps.append)
    out = unpack(made.path, tmp_path / "out")
    found = {path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file()}
    assert found == {*FILES, FILE}
    assert {name: (out / name).read_bytes() for name in FILES} == FILES
    assert database_of(out) == database_of(data)
    assert (made.files, made.packed_bytes) == (len(FILES) + 1, made.path.stat().st_size)
    shares = [step.share for step in steps]
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)
    for doing in (Doing.COPYING, Doing.READING_BACK):
        assert {step.name for step in steps if step.doing is doing} == found
    assert [step.name for step in steps if step.doing is Doing.CHECKING][:1] == [FILE]
    assert all(step.done <= step.total for step in steps)
    assert steps[-1].done == pytest.approx(steps[-1].total)


@pytest.mark.parametrize("doing", [Doing.COPYING, Doing.CHECKING, Doing.READING_BACK])
def test_one_that_is_broken_off_leaves_nothing(
    data: Path, tmp_path: Path, doing: Doing
) -> None:
    """Wherever it is: while the database is copied, checked, or all is read back."""
    before = state_of(data)
    watch = Watch("It was broken off.")

    def tell(step: Step) -> None:
        if step.doing is doing:
            watch.break_off()
        watch.tell(step)

    with pytest.raises(SafekeepingError, match="It was broken off"):
        make_backup(data, tmp_path / "b.zip", tell)
    assert watch.step is not None
    assert watch.step.doing is doing
    assert state_of(data) == before
    assert not list(tmp_path.glob("b.zip*"))
    assert not outside_files(data)
    assert make_backup(data, tmp_path / "b.zip").files == len(FILES) + 1


def test_a_long_check_of_the_database_breathes_and_can_be_broken_off(data: Path) -> None:
    with contextlib.closing(sqlite3.connect(data / FILE)) as at:
        at.execute("CREATE TABLE filler (n INTEGER PRIMARY KEY, word TEXT)")
        at.execute(
            "WITH RECURSIVE up(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM up WHERE n < 60000) "
            "INSERT INTO filler SELECT n, 'word' || n FROM up"
        )
        at.commit()
    breaths: list[int] = []
    assert check_database(data / FILE, lambda: breaths.append(1)) > 0
    assert breaths

    def stop() -> None:
        raise SafekeepingError("no more")

    with pytest.raises(SafekeepingError, match="no more"):
        check_database(data / FILE, stop)


def test_it_is_for_the_user_alone_and_remembered_as_lying_outside(
    data: Path, tmp_path: Path
) -> None:
    made = make_backup(data, tmp_path / "b.zip")
    assert made.path.stat().st_mode & 0o777 == 0o600
    assert [one.path for one in outside_files(data)] == [str(made.path)]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b.zip", "data"]
    assert not (data / "safekeeping.part").exists()


def test_times_of_files_come_through(data: Path, tmp_path: Path) -> None:
    os.utime(data / "plates.csv", (1e9, 1e9))
    out = unpack(make_backup(data, tmp_path / "b.zip").path, tmp_path / "out")
    assert (out / "plates.csv").stat().st_mtime == 1e9


def test_a_folder_gets_a_file_named_by_the_day(data: Path, tmp_path: Path) -> None:
    (tmp_path / "stick").mkdir()
    made = make_backup(data, tmp_path / "stick")
    assert made.path.parent == tmp_path / "stick"
    assert made.path.name.startswith("strikebridge-2")


def test_lines_that_are_being_written_are_taken_up_to_the_last_whole_one(
    data: Path, tmp_path: Path
) -> None:
    path = data / "recordings" / "2026-03-01.jsonl"
    with path.open("ab") as file:
        file.write(b'{"at_us":9,"te')
    out = unpack(make_backup(data, tmp_path / "b.zip").path, tmp_path / "out")
    assert (out / "recordings" / path.name).read_bytes() == FILES[f"recordings/{path.name}"]


@pytest.mark.parametrize("size", [0, 1, 2**20 - 1, 2**20, 2**20 + 1, 3 * 2**20])
def test_long_lines_are_cut_at_the_last_feed_however_they_lie(
    data: Path, tmp_path: Path, size: int
) -> None:
    whole = b"a" * size + b"\n" + b"b" * (2**20 + 7) + b"\n"
    (data / "checks" / "long.jsonl").write_bytes(whole + b"c" * (2**20 + 9))
    out = unpack(make_backup(data, tmp_path / "b.zip").path, tmp_path / "out")
    assert (out / "checks" / "long.jsonl").read_bytes() == whole


def test_a_folder_on_another_disk_is_followed(data: Path, tmp_path: Path) -> None:
    (data / "recordings").rename(tmp_path / "big-disk")
    (data / "recordings").symlink_to(tmp_path / "big-disk")
    out = unpack(make_backup(data, tmp_path / "b.zip").path, tmp_path / "out")
    assert (out / "recordings" / "2026-03-01.jsonl").is_file()


def refused(data: Path, target: Path, words: str) -> None:
    around = sorted(target.parent.iterdir()) if target.parent.is_dir() else []
    with pytest.raises(SafekeepingError, match=words):
        make_backup(data, target)
    assert (sorted(target.parent.iterdir()) if target.parent.is_dir() else []) == around


def test_no_file_is_ever_overwritten(data: Path, tmp_path: Path) -> None:
    (tmp_path / "b.zip").write_bytes(b"precious")
    refused(data, tmp_path / "b.zip", "exists already and was left alone")
    assert (tmp_path / "b.zip").read_bytes() == b"precious"


def test_a_place_inside_of_the_data_folder_is_refused(data: Path) -> None:
    refused(data, data / "recordings" / "b.zip", "would be lost with it")


def test_a_missing_folder_is_said(data: Path, tmp_path: Path) -> None:
    refused(data, tmp_path / "no-stick" / "b.zip", "There is no folder")


def test_nothing_to_keep_is_said(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    refused(tmp_path / "empty", tmp_path / "out" / "b.zip", "nothing to keep")


def test_another_one_under_way_is_waited_for_and_then_said(data: Path, tmp_path: Path) -> None:
    with (
        one_at_a_time(data),
        pytest.raises(SafekeepingError, match="under way"),
        one_at_a_time(data, wait_s=0.05),
    ):
        pass


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(SafekeepingError, match="cannot be written"):
        make_backup(tmp_path / "file", tmp_path / "b.zip")


def test_a_file_too_large_for_its_disk_leaves_nothing(data: Path, tmp_path: Path) -> None:
    (data / "recordings" / "noise.jsonl").write_bytes(os.urandom(2**20) + b"\n")
    (tmp_path / "out").mkdir()
    words = ["400000", str(tmp_path / "out" / "b.zip"), str(data)]
    done = subprocess.run(
        [sys.executable, "-m", "tests.safekeeping.limited", *words],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert "takes no file of that size. No backup was made" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert list((tmp_path / "out").iterdir()) == []
    assert not (data / "safekeeping.part").exists()


FULL = """
mount -t tmpfs -o size=256k none "$1" || exit 77
"$2" -m strikebridge backup "$1/b.zip" --data "$3"
code=$?
ls -A "$1"
exit $code
"""


@pytest.mark.skipif(shutil.which("unshare") is None, reason="needs unshare of util-linux")
def test_a_full_disk_is_one_sentence_and_leaves_nothing(data: Path, tmp_path: Path) -> None:
    (data / "recordings" / "noise.jsonl").write_bytes(os.urandom(2**20) + b"\n")
    (tmp_path / "disk").mkdir()
    words = ["sh", "-c", FULL, "-", str(tmp_path / "disk"), sys.executable, str(data)]
    done = subprocess.run(
        ["unshare", "-rm", *words], capture_output=True, text=True, check=False, timeout=60
    )
    if "unshare" in done.stderr or done.returncode == 77:
        pytest.skip("No small disk can be mounted here without being root.")
    assert done.returncode == 1
    assert "is full. No backup was made" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert done.stdout == ""


DAMAGES: dict[str, Callable[[bytes], bytes]] = {
    "cut short": lambda raw: raw[: len(raw) // 2],
    "no zip": lambda _: b"not a backup at all",
    "empty": lambda _: b"",
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_file_is_refused(data: Path, tmp_path: Path, damage: str) -> None:
    path = make_backup(data, tmp_path / "b.zip").path
    path.write_bytes(DAMAGES[damage](path.read_bytes()))
    with pytest.raises(SafekeepingError, match="is damaged"):
        ArchiveReader(path)


def content_of(path: Path) -> bytes | None:
    """Read the database of a backup; None where it cannot be read."""
    with contextlib.suppress(zipfile.BadZipFile, zlib.error), zipfile.ZipFile(path) as archive:
        return archive.read(FILE)
    return None


def test_every_byte_is_guarded(data: Path, tmp_path: Path) -> None:
    path = make_backup(data, tmp_path / "b.zip").path
    raw, content = path.read_bytes(), content_of(path)
    assert content is not None
    with zipfile.ZipFile(path) as archive:
        info = archive.getinfo(FILE)
    passed = 0
    for at in range(info.header_offset + 100, info.header_offset + info.compress_size, 211):
        path.write_bytes(raw[:at] + bytes([raw[at] ^ 0x55]) + raw[at + 1 :])
        if content_of(path) == content:
            continue  # two ways to write the same: of many zeros these or those are repeated
        with pytest.raises(SafekeepingError, match="is damaged"):
            ArchiveReader(path).check(Progress(1))
        passed += 1
    assert passed > 10


def rewritten(path: Path, change: dict[str, object], more: str = "") -> Path:
    """Write an archive again with another manifest, and perhaps one more file."""
    out = path.with_name("changed.zip")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            if name != MANIFEST:
                new.writestr(name, old.read(name))
        new.writestr(MANIFEST, json.dumps({**json.loads(old.read(MANIFEST)), **change}))
        if more:
            new.writestr(more, b"x")
    return out


def test_what_the_manifest_does_not_name_is_refused(data: Path, tmp_path: Path) -> None:
    path = make_backup(data, tmp_path / "b.zip").path
    with pytest.raises(SafekeepingError, match="does not hold the files that it names"):
        ArchiveReader(rewritten(path, {}, more="stowaway"))


@pytest.mark.parametrize("name", ["../evil", "/evil", "a/../../evil", "C:evil", "a\\b", "./a"])
def test_a_name_that_leads_outside_is_refused(data: Path, tmp_path: Path, name: str) -> None:
    path = make_backup(data, tmp_path / "b.zip").path
    with zipfile.ZipFile(path) as archive:
        files = json.loads(archive.read(MANIFEST))["files"]
    evil = {"name": name, "bytes": 1, "sha256": "", "changed_ns": 0}
    with pytest.raises(SafekeepingError, match="outside of the data folder"):
        ArchiveReader(rewritten(path, {"files": [*files, evil]}, more=name))


def test_a_backup_of_a_newer_program_is_refused_in_words(data: Path, tmp_path: Path) -> None:
    path = make_backup(data, tmp_path / "b.zip").path
    with pytest.raises(SafekeepingError, match=r"newer strikebridge.*Install the newer"):
        ArchiveReader(rewritten(path, {"strikebridge_backup": 2}))


def test_a_zip_of_something_else_is_no_backup(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "songs.zip", "w") as archive:
        archive.writestr("song.txt", b"la la")
    with pytest.raises(SafekeepingError, match="no backup of strikebridge"):
        ArchiveReader(tmp_path / "songs.zip")


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_a_backup_while_a_session_runs_is_whole(tmp_path: Path) -> None:
    data = tmp_path / "data"
    plan = tmp_path / "short.toml"
    plan.write_text(PLAN)
    words = ["session", str(plan), "--board", "simulated:", "--headless", "--speed", "8"]
    with (
        subprocess.Popen(
            [sys.executable, "-m", "strikebridge", *words, "--data", str(data)],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        ) as process,
        contextlib.ExitStack() as afterwards,
    ):
        afterwards.callback(process.kill)
        assert process.stdout is not None
        deadline_s = time.monotonic() + 60.0
        said = 0
        while said < 2 and time.monotonic() < deadline_s:
            said += " kg   " in process.stdout.readline()
        codes = [
            run(["backup", str(tmp_path / f"b{number}.zip"), "--data", str(data)])
            for number in (1, 2, 3)
        ]
        assert process.poll() is None, "the session ended before the backups were made"
    assert codes == [0, 0, 0]
    for number in (1, 2, 3):
        out = unpack(tmp_path / f"b{number}.zip", tmp_path / f"out{number}")
        assert not any((out / log).exists() for log in LOGS)
        with contextlib.closing(open_store(out)) as store:
            history = History(store)
            reps = history.reps(history.sessions()[0].id)
        assert len([rep for rep in reps if rep.recording and rep.end_s]) >= 2
        for rep in reps:
            if rep.recording and rep.end_s:
                reader = RecordingReader(out / "recordings" / rep.recording)
                *_, last = reader
                assert reader.damaged == 0
                at_us = last.at_us if hasattr(last, "at_us") else last.arrived_us
                assert at_us * 1e-6 >= rep.end_s
    # whatever the program writes into its folder is in the table
    left = {path.name for path in data.iterdir()} - {*CONTENTS, *LOGS}
    assert left == {LOCK, RECORDING, "outside.jsonl"}


def test_the_command_says_what_it_made(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["backup", str(tmp_path / "b.zip"), "--data", str(data)]) == 0
    out, err = capsys.readouterr()
    assert "8 files, 0.0 MB, read back and found right." in out
    assert err == ""
    assert run(["backup", str(tmp_path / "c.zip"), "--data", str(data), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["files"] == 8
    assert run(["backup", str(tmp_path / "b.zip"), "--data", str(data)]) == 1
    assert "exists already" in capsys.readouterr().err
