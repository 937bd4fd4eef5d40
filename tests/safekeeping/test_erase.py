"""Whoever is erased is in no byte of the data folder any more, and everybody else is whole."""

from __future__ import annotations

import contextlib
import html
import io
import json
import math
import re
import shutil
import sqlite3
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import select

from strikebridge.analysis import analyse_file
from strikebridge.cli import run
from strikebridge.errors import RosterError, SafekeepingError, StoreError
from strikebridge.recording import RecordingReader
from strikebridge.safekeeping.backup import make_backup
from strikebridge.safekeeping.contents import ERASURES
from strikebridge.safekeeping.cutting import OF_THE_BOARD, cut_out
from strikebridge.safekeeping.erasing import erase, find_for_erasure
from strikebridge.safekeeping.erasure_list import read_erasures
from strikebridge.safekeeping.exchange import JOB, Erasure, write_job
from strikebridge.safekeeping.outside import (
    Kind,
    last_backup,
    mark_of,
    note_outside,
    outside_files,
)
from strikebridge.safekeeping.restore import restore_backup, take_back
from strikebridge.safekeeping.settling import settle
from strikebridge.safekeeping.traces import find_traces
from strikebridge.samples import Chunk, Event
from strikebridge.store.database import FILE, open_store
from strikebridge.store.erasing import OF_AN_ATHLETE, erase_athlete
from strikebridge.store.models import Base, GroupRow, RigSetupRow, SessionRow
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from strikebridge.stream_setup import Setup
from tests.safekeeping.made import PLAN, state_of
from tests.store.made import DAY, INES, JUNO, START, rep, session
from tests.store.test_migrations import CLOSED, CUE

if TYPE_CHECKING:
    from collections.abc import Callable

JOB_OF_INES = Erasure(athlete=INES.id, name=INES.name, at="2026-03-01", sessions=1, reps=2)
NOW = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


def gone(data: Path, name: str, athlete: str) -> None:
    """Search every byte of every file below the folder, and every name of a file."""
    for path in data.rglob("*"):
        raw = path.name.encode() + (path.read_bytes() if path.is_file() else b"")
        for word in (name, name.rsplit(maxsplit=1)[-1], athlete):
            assert word.lower().encode() not in raw.lower(), f"{word} in {path}"


def erased(data: Path, who: str) -> None:
    athlete, held = find_for_erasure(data, who)
    erase(data, athlete, held)


def test_every_byte_of_an_athlete_is_gone(data: Path) -> None:
    with contextlib.closing(
        open_store(data)
    ) as store:  # what WAL and free pages may still have
        Roster(store, lambda: DAY).change(replace(INES, name="Ines Oldname-Halloran"))
        Roster(store, lambda: DAY).change(INES)
        Training(store, lambda: DAY).note_cue(CUE)
    erased(data, "ines halloran")
    gone(data, INES.name, INES.id)
    gone(data, "Ines Oldname", INES.id)
    with contextlib.closing(open_store(data)) as store:
        assert Roster(store).all() == (JUNO,)
    assert find_traces(data, INES.id, INES.name) == []


def test_the_list_has_the_day_and_what_went_but_nobody(data: Path) -> None:
    erased(data, INES.id)
    (line,) = read_erasures(data)
    assert (line.sessions, line.reps, line.recordings, line.files) == (1, 2, 0, 0)
    assert line.at == datetime.now().astimezone().date().isoformat()
    assert line.mark == mark_of(INES.id)
    assert INES.id not in (data / ERASURES).read_text()


def test_others_keep_everything(data: Path) -> None:
    with contextlib.closing(open_store(data)) as store:
        training = Training(store, lambda: DAY)
        training.save(replace(rep(4), athlete=JUNO.id, ended_at=START))
        training.close_turn(CLOSED)
        kept = [one for one in History(store).reps(session().id) if one.athlete == JUNO.id]
    erased(data, INES.id)
    with contextlib.closing(open_store(data)) as store:
        history = History(store)
        assert history.reps(session().id) == tuple(kept)
        (left,) = history.sessions()
        assert left.athletes == (JUNO.id,)
        assert Training(store).resume_point(left.id).done == frozenset({4})
        # its turns were counted with both, so it cannot be taken up again
        assert left.ended_at is not None
        assert Training(store).unfinished() == ()
        with store.reading() as at:
            assert len(at.scalars(select(RigSetupRow)).all()) == 1


def test_what_only_this_athlete_made_necessary_goes_too(data: Path) -> None:
    with contextlib.closing(open_store(data)) as store:
        with store.writing() as at:
            for table in OF_AN_ATHLETE:
                at.query(table).filter(table.athlete_id == JUNO.id).delete()
        erase_athlete(store, INES.id, NOW)
        with store.reading() as at:
            assert at.scalars(select(SessionRow)).all() == []
            assert at.scalars(select(RigSetupRow)).all() == []
            assert at.scalars(select(GroupRow)).all() == []


def test_every_table_with_an_athlete_is_known() -> None:
    with_athlete = {
        name for name, table in Base.metadata.tables.items() if "athlete_id" in table.columns
    }
    assert {table.__tablename__ for table in OF_AN_ATHLETE} == with_athlete
    refers = {
        key.parent.table.name
        for table in Base.metadata.tables.values()
        for key in table.foreign_keys
        if key.column.table.name == "athlete"
    }
    assert refers == with_athlete


def test_it_is_refused_while_somebody_has_the_database_open(data: Path) -> None:
    athlete, held = find_for_erasure(data, INES.name)
    before = state_of(data)
    with contextlib.closing(open_store(data)), pytest.raises(StoreError, match="is running"):
        erase(data, athlete, held)
    assert state_of(data) == before
    assert not (data / JOB).exists()


def test_an_unknown_name_is_said(data: Path) -> None:
    with pytest.raises(RosterError, match="There is no athlete Nobody"):
        find_for_erasure(data, "Nobody")


def test_what_a_restore_set_aside_is_cleared_as_well(data: Path, tmp_path: Path) -> None:
    backup = make_backup(data, tmp_path / "b.zip").path
    restore_backup(data, backup)
    erased(data, INES.id)
    gone(data, INES.name, INES.id)
    take_back(data)
    gone(data, INES.name, INES.id)


def test_a_backup_of_earlier_days_does_not_bring_anybody_back(
    data: Path, tmp_path: Path
) -> None:
    backup = make_backup(data, tmp_path / "b.zip").path
    erased(data, INES.id)
    restored = restore_backup(data, backup)
    assert restored.athletes == 1
    gone(data, INES.name, INES.id)
    # a backup made after that carries the list to another laptop
    later = make_backup(data, tmp_path / "later.zip").path
    restore_backup(tmp_path / "other", later)
    restored = restore_backup(tmp_path / "other", backup)
    assert restored.athletes == 1
    gone(tmp_path / "other", INES.name, INES.id)


def test_what_lies_outside_is_removed_or_named(data: Path, tmp_path: Path) -> None:
    own, changed, others, squad = (
        tmp_path / name for name in ("own.pdf", "changed.pdf", "juno.pdf", "squad.pdf")
    )
    for path, whose in ((own, INES.id), (changed, INES.id), (others, JUNO.id), (squad, "")):
        path.write_text("a page")
        note_outside(data, Kind.REPORT, path, whose)
    changed.write_text("now something else stands here")
    backup = make_backup(data, tmp_path / "b.zip").path
    athlete, held = find_for_erasure(data, INES.id)
    done = erase(data, athlete, held)
    assert done.removed == (str(own),)
    assert not own.exists()
    assert [one.path for one in done.elsewhere] == [str(changed), str(squad), str(backup)]
    assert changed.exists()
    left = [one.path for one in outside_files(data)]
    assert left == [str(others), str(squad), str(backup)]


@pytest.mark.parametrize("is_folder_left", [False, True])
def test_a_backup_on_a_stick_that_is_not_plugged_in_is_named_and_not_forgotten(
    data: Path, tmp_path: Path, *, is_folder_left: bool
) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    backup = make_backup(data, stick / "b.zip").path
    deleted = make_backup(data, tmp_path / "old.zip").path
    deleted.unlink()
    stick.rename(tmp_path / "drawer")
    if is_folder_left:
        stick.mkdir()
    for who in (INES.id, JUNO.id):
        athlete, held = find_for_erasure(data, who)
        done = erase(data, athlete, held)
        assert [(one.path, one.is_there) for one in done.elsewhere] == [(str(backup), False)]
    newest = last_backup(data)  # what the start page says of it is still known
    assert newest is not None
    assert newest.path == str(deleted)


def test_reports_and_the_next_session_go_where_they_name_the_athlete(data: Path) -> None:
    files = {
        "reports/both.html": "<p>Juno Pettigrew, Ines Halloran</p>",
        "reports/juno.html": "<p>Juno Pettigrew</p>",
        "reports/packed.pdf": "%PDF-1.4 nobody can say",
        "next-session.json": f'{{"athletes": ["{INES.id}"]}}',
    }
    (data / "reports").mkdir()
    for name, text in files.items():
        (data / name).write_text(text)
    done = erase(data, *find_for_erasure(data, INES.id))
    assert [name for name in files if (data / name).exists()] == ["reports/juno.html"]
    went = [str(data / "reports" / name) for name in ("both.html", "packed.pdf")]
    assert done.reports == tuple(went)
    gone(data, INES.name, INES.id)
    (data / "next-session.json").write_text(f'{{"athletes": ["{JUNO.id}"]}}')
    write_job(data, JOB_OF_INES)
    settle(data)
    assert (data / "next-session.json").exists()


def test_a_name_that_somebody_else_wrote_down_is_found(data: Path) -> None:
    with contextlib.closing(open_store(data)) as store:
        note = "Spars with ines halloran."
        Roster(store, lambda: DAY).change(replace(JUNO, note=note))
    (data / "certificates" / "quay.json").write_text('{"made_by": "Ines Halloran"}')
    erased(data, INES.id)
    found = {path.name for path in find_traces(data, INES.id, INES.name)}
    assert found == {FILE, "quay.json"}


@pytest.mark.parametrize("name", ["Zoë Quillfeather", "Mo O'Tarn", "Ng"])
@pytest.mark.parametrize("written", [json.dumps, html.escape, str.upper, str])
def test_names_are_found_as_files_write_them_and_short_ones_are_not_guessed(
    data: Path, name: str, written: Callable[[str], str]
) -> None:
    (data / "boards.json").write_text(f"who: {written(name)}!", encoding="utf-8")
    found = find_traces(data, "f" * 32, name)
    assert found == ([data / "boards.json"] if len(name) > 3 else [])


def test_a_name_across_two_blocks_is_found(data: Path) -> None:
    path = data / "checks" / "long.jsonl"
    path.write_bytes(b"x" * (2**20 - 5) + b"Ines Halloran" + b"x" * 2**20)
    assert path in find_traces(data, "f" * 32, "Ines Halloran")


def test_a_broken_off_erasure_is_finished_at_the_next_start(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_job(data, JOB_OF_INES)
    assert run(["athletes", "list", "--data", str(data), "--json"]) == 0
    out, err = capsys.readouterr()
    assert "An erasure that was broken off has been finished." in err
    assert [one["name"] for one in json.loads(out)["athletes"]] == [JUNO.name]
    gone(data, INES.name, INES.id)
    assert [one.at for one in read_erasures(data)] == ["2026-03-01"]


def test_one_that_cannot_be_finished_is_said_and_tried_again(
    data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikebridge.store.database.WAIT_S", 0.1)
    write_job(data, JOB_OF_INES)
    reader = sqlite3.connect(data / FILE, isolation_level=None)
    reader.execute("PRAGMA journal_mode=WAL")
    reader.execute("BEGIN")
    reader.execute("SELECT * FROM athlete").fetchall()
    (said,) = settle(data)
    assert "not finished yet" in said
    reader.close()
    assert settle(data) == ["An erasure that was broken off has been finished."]
    gone(data, INES.name, INES.id)


@pytest.mark.slow
@pytest.mark.timeout(240)
@pytest.mark.skipif(sys.platform == "win32", reason="forks and kills as POSIX does")
def test_killed_at_any_step_it_has_not_begun_or_is_finished_later() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.safekeeping.erase_kills", "--each", "10"],
        check=True,
        capture_output=True,
        text=True,
    )
    stood = re.search(r": (\d+) times not begun, (\d+) times erased", done.stdout)
    assert stood is not None
    assert min(int(times) for times in stood.groups()) >= 1


def line(at_us: int, event: str = "", **detail: object) -> bytes:
    if not event:
        return b'{"at_us":%d,"text":"%d\\n"}\n' % (at_us, at_us)
    return json.dumps({"at_us": at_us, "event": event, "detail": detail}).encode() + b"\n"


def test_turns_are_cut_out_and_what_is_of_the_board_stays(tmp_path: Path) -> None:
    path = tmp_path / "one.jsonl"
    header = b'{"strikebridge_recording":1,"board":"typed:","started":"now"}\n'
    theirs = [
        line(30),
        line(31, "prescribed", hold_s=3),
        line(32, "go"),
        b'{"at_us":33,"te\n',
        line(34, "typed", kg=60),
    ]
    of_board = [line(40, "lost"), line(41, "calibrated", id="abc")]
    between = [line(50, "turn", athlete="b" * 32), line(51), b'torn "event": line\n']
    lines = [
        header,
        line(1),
        line(20, "turn", athlete="a" * 32),
        *theirs,
        *of_board,
        line(45, "turn", athlete="a" * 32),
        line(46),
        *between,
        line(60, "turn", athlete="a" * 32),
        line(61),
    ]
    path.write_bytes(b"".join(lines))
    before = path.stat().st_mtime_ns
    assert cut_out(path, "a" * 32) == 2
    notes = [b'{"at_us":%d,"event":"erased","detail":{}}\n' % at_us for at_us in (20, 60)]
    assert path.read_bytes().splitlines(keepends=True) == [
        header,
        line(1),
        notes[0],
        *of_board,
        *between,
        notes[1],
    ]
    assert path.stat().st_mtime_ns == before
    assert path.stat().st_mode & 0o077 == 0
    assert cut_out(path, "a" * 32) == 0  # notes of earlier ones are no news


def test_every_event_of_the_program_is_of_the_board_or_of_an_athlete() -> None:
    root = Path(__file__).resolve().parents[2] / "strikebridge"
    code = "\n".join(path.read_text(encoding="utf-8") for path in root.rglob("*.py"))
    kinds = set(re.findall(r'\bEvent\(\s*"([a-z_ ]+)"', code))
    kinds |= set(re.findall(r'_say\("([a-z]+)"', code))
    of_athletes = {"sound", "prescribed", "turn", "key", "ready"}
    assert kinds <= OF_THE_BOARD | of_athletes
    assert {"identity", "calibrated", "rated", "lost", "back", "baud"} <= kinds


@pytest.fixture(scope="module")
def trained(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder after a session of the invented club, by the real program."""
    folder = tmp_path_factory.mktemp("trained")
    (folder / "short.toml").write_text(PLAN.replace("sets = 3", "sets = 1"))
    words = ["session", str(folder / "short.toml"), "--board", "simulated:", "--headless"]
    words += ["--speed", "max", "--data", str(folder / "data")]
    subprocess.run(
        [sys.executable, "-m", "strikebridge", *words], check=True, capture_output=True
    )
    return folder / "data"


@pytest.mark.slow
@pytest.mark.timeout(240)
@pytest.mark.parametrize("place", [0, 3])
def test_after_a_real_session_others_have_the_same_numbers(
    trained: Path, tmp_path: Path, place: int
) -> None:
    data = shutil.copytree(trained, tmp_path / "data")
    (recording,) = (data / "recordings").glob("*.jsonl")
    with contextlib.closing(open_store(data)) as store:
        history = History(store)
        (record,) = history.sessions()
        athlete = Roster(store).find(record.athletes[place])
        reps = history.reps(record.id)
        kept = [one for one in reps if one.athlete != athlete.id]
    size = recording.stat().st_size
    assert run(["erase", athlete.name, "--yes", "--data", str(data)]) == 0
    gone(data, athlete.name, athlete.id)
    assert recording.stat().st_size < 0.9 * size
    after = analyse_file(recording, Setup(None)).reps
    assert len(after) == len(kept) > 5
    for one, other in zip(kept, after, strict=True):
        for name, value in one.measures.items():
            again = other.measures[name]
            assert again.status is value.status, name
            if value.value is not None:
                # the zero is followed through fewer readings: less than a tenth of the doubt
                off = abs((again.value or 0.0) - value.value)
                doubt = math.hypot(value.u_own or 0.0, value.u_common or 0.0)
                assert off <= max(0.1 * doubt, 1e-5 * abs(value.value)), name
    records = list(RecordingReader(recording))
    assert any(isinstance(one, Chunk) for one in records)
    assert any(isinstance(one, Event) and one.kind == "erased" for one in records)


def test_the_command_asks_once_and_says_what_it_did(
    data: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    make_backup(data, tmp_path / "b.zip")
    packed = data / "reports" / "squad.pdf"
    packed.parent.mkdir()
    packed.write_text("%PDF-1.4 nobody can say")
    words = ["erase", "ines halloran", "--data", str(data)]
    for answer in ("", "n\n", "\n"):
        monkeypatch.setattr(sys, "stdin", io.StringIO(answer))
        assert run(words) == 1
        out, err = capsys.readouterr()
        assert "Ines Halloran: 2 reps of 1 session." in err
        assert "every PDF in the folder reports" in err
        assert "Stopped." in err
        assert out == ""
    assert run([*words, "--yes"]) == 0
    out, err = capsys.readouterr()
    assert "Ines Halloran is erased: 2 reps of 1 session, turns in 0 recordings." in out
    assert str(tmp_path / "b.zip") in out
    assert f"Removed: {packed}\nWhat a PDF says is packed" in out
    assert err == ""
    assert run([*words, "--yes"]) == 1
    assert "There is no athlete" in capsys.readouterr().err
    assert run(["erase", JUNO.name, "--yes", "--json", "--data", str(data)]) == 0
    document = json.loads(capsys.readouterr().out)
    assert (document["reps"], document["traces"]) == (0, [])


def test_a_list_that_cannot_be_read_is_said(data: Path) -> None:
    (data / ERASURES).mkdir()
    with pytest.raises(SafekeepingError, match="cannot be read or written"):
        read_erasures(data)
