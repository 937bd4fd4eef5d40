"""A program that saves reps until somebody kills it: `python -m tests.store.saver DATA`.

It goes on where the session stands and says `saved TURN` after each rep that the store has
said to be saved. Each third turn is a redo. What may have been saved before it was killed it
hands over once more, with another sentence: the first has to stand.
"""

from __future__ import annotations

import contextlib
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from strikebridge.store.database import open_store
from strikebridge.store.training import Training
from tests.store.made import DAY, START, rep, session

if TYPE_CHECKING:
    from strikebridge.club.training import RepRecord

TURNS = 10_000
MEASURES = 21  # as many as a hold has
REDO_EACH = 3


def attempt(turn: int, number: int) -> RepRecord:
    """Make one attempt at a turn; its force tells it apart from any other."""
    peak_N = 1000.0 * number + turn
    plain = rep(1, peak_N)
    peak = plain.measures["peak_force"]
    measures = {f"measure_{i}": replace(peak, name=f"measure_{i}") for i in range(MEASURES)}
    return replace(plain, turn=turn, attempt=number, measures=measures, ended_at=START)


def say(words: str) -> None:
    """Write a line and let it go at once."""
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def main() -> None:
    """Save rep after rep."""
    with contextlib.closing(open_store(Path(sys.argv[1]))) as store:
        training = Training(store, lambda: DAY)
        point = training.resume_point(session().id)
        for turn, number in sorted(point.attempts.items())[-2:]:
            training.save(replace(attempt(turn, number), sentence="Handed over again."))
        say("started")
        for turn in range(point.next_turn or TURNS, TURNS + 1):
            number = point.attempts.get(turn, 0) + 1
            training.save(attempt(turn, number))
            if turn % REDO_EACH == 0 and number == 1:
                training.take_back(session().id, turn)
                training.save(attempt(turn, number + 1))
            say(f"saved {turn}")


if __name__ == "__main__":
    main()
