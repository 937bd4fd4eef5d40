"""What is handed over is written in order, on another thread, and never left out in silence."""

import contextlib
import threading
from datetime import UTC, datetime
from pathlib import Path

import pytest

from strikebridge.bookkeeper import Bookkeeper
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.club.training import (
    ClosedTurn,
    Closing,
    CueRecord,
    RepRecord,
    SessionRecord,
    new_id,
)
from strikebridge.errors import StoreError
from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training

AT = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


def test_what_happens_is_written_in_its_order(tmp_path: Path) -> None:
    ines, session = saltmarsh_quay()[0], new_id()
    with contextlib.closing(open_store(tmp_path)) as store:
        Roster(store).add(ines)
        training = Training(store)
        training.begin(SessionRecord(session, "p", "{}", (ines.id,), 3, AT))
        book = Bookkeeper(training, session)
        told: list[int] = []
        threads: set[str] = set()

        def tell(turn: int) -> None:
            told.append(len(History(store).reps(session)))  # it is there when it is told
            threads.add(threading.current_thread().name)
            assert turn == told[-1]

        for turn in (1, 2):
            rep = RepRecord(session, turn, ines.id, "rear-hook", 1, turn, AT)
            book.save(rep, lambda turn=turn: tell(turn))  # type: ignore[misc] # binds the turn
        book.take_back(2)
        book.note(ClosedTurn(session, 2, ines.id, "rear-hook", Closing.UNDONE, AT))
        book.note(ClosedTurn(session, 3, ines.id, "rear-hook", Closing.SKIPPED, AT))
        book.reopen(3)
        book.note(CueRecord(session, ines.id, AT, "snap", 3))
        book.end(AT)
        book.close()
        assert told == [1, 2]
        assert threads == {"bookkeeper"}
        assert book.written == 8
        point = training.resume_point(session)
        assert (point.done, dict(point.closed)) == (frozenset({1}), {2: Closing.UNDONE})
        assert point.session.ended_at == AT
        assert [one.cue for one in History(store).cues(session)] == ["snap"]


def test_what_cannot_be_written_is_said_and_nothing_follows_it(tmp_path: Path) -> None:
    with contextlib.closing(open_store(tmp_path)) as store:
        book = Bookkeeper(Training(store), "none")
        failed = threading.Event()
        book.end(AT)  # there is no such session
        book.save(RepRecord("none", 1, "x", "rear-hook", 1, 1, AT), failed.set)
        with pytest.raises(StoreError, match="no session none"):
            book.close()
        assert not failed.is_set()
        assert book.written == 0
        with pytest.raises(StoreError, match="no session none"):
            book.take_back(1)
