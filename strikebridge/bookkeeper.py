"""Write a session down while it runs, without keeping the acquisition thread waiting.

Handing something over queues it; a thread of its own writes it at once, in the order it came.
A disk takes milliseconds to be sure of a transaction, which the wall must not feel. Nothing is
ever left out: when the database cannot be written, the next hand-over is an error, and the
session ends with its words.
"""

from __future__ import annotations

import queue
import threading
from typing import TYPE_CHECKING

from strikebridge.club.training import ClosedTurn
from strikebridge.errors import StrikebridgeError

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from strikebridge.club.training import CueRecord, RepRecord
    from strikebridge.store.training import Training

CLOSE_WITHIN_S = 30.0  # a database on a slow stick still gets all of it


class Bookkeeper:
    """Write what happens in one session into the database.

    Attributes:
        written: how much is safely on the disk.
    """

    def __init__(self, training: Training, session: str) -> None:
        """Begin to write.

        Args:
            training: the sessions of a database.
            session: id of the session, which has begun there.
        """
        self.written = 0
        self._training = training
        self._session = session
        self._error: StrikebridgeError | None = None
        self._jobs: queue.SimpleQueue[Callable[[], object] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, name="bookkeeper", daemon=True)
        self._thread.start()

    def save(self, rep: RepRecord, then: Callable[[], None]) -> None:
        """Hand a rep over to be written.

        Args:
            rep: the rep.
            then: called on the writing thread once it is on the disk; must not block.

        Raises:
            StrikebridgeError: something handed over earlier could not be written.
        """

        def job() -> None:
            self._training.save(rep)
            then()

        self._put(job)

    def note(self, one: ClosedTurn | CueRecord) -> None:
        """Hand over a turn that is over without a rep, or a cue, to be written.

        Args:
            one: the turn or the cue.

        Raises:
            StrikebridgeError: as `save`.
        """
        if isinstance(one, ClosedTurn):
            self._put(lambda: self._training.close_turn(one))
        else:
            self._put(lambda: self._training.note_cue(one))

    def take_back(self, turn: int) -> None:
        """Have the rep of a turn marked as taken back.

        Args:
            turn: planned turn, from 1.

        Raises:
            StrikebridgeError: as `save`.
        """
        self._put(lambda: self._training.take_back(self._session, turn))

    def reopen(self, turn: int) -> None:
        """Have a turn that was over opened again.

        Args:
            turn: planned turn, from 1.

        Raises:
            StrikebridgeError: as `save`.
        """
        self._put(lambda: self._training.open_turn(self._session, turn))

    def end(self, ended_at: datetime) -> None:
        """Have the end of the session written.

        Args:
            ended_at: when, with its zone.

        Raises:
            StrikebridgeError: as `save`.
        """
        self._put(lambda: self._training.end(self._session, ended_at))

    def close(self) -> None:
        """Write what still waits, and stop.

        Raises:
            StrikebridgeError: something could not be written.
        """
        self._jobs.put(None)
        self._thread.join(CLOSE_WITHIN_S)
        if self._error is not None:
            raise self._error
        if self._thread.is_alive():
            raise StrikebridgeError(
                "The database takes too long to write the last reps. The recording has them; "
                "check the disk."
            )

    def _put(self, job: Callable[[], object]) -> None:
        if self._error is not None:
            raise self._error
        self._jobs.put(job)

    def _run(self) -> None:
        while (job := self._jobs.get()) is not None:
            if self._error is not None:
                continue  # what comes after a failed write would stand there without it
            try:
                job()
            except StrikebridgeError as error:
                self._error = error
            else:
                self.written += 1
