"""Nothing of an under-age athlete without consent reaches the disk: the folder is searched.

The age of eighteen is that of the Convention on the Rights of the Child (1989), article 1.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text

from strikebridge.club.training import ClosedTurn, Closing, CueRecord
from strikebridge.errors import ConsentError, RosterError
from tests.store.made import CONSENT, INES, JUNO, START, UNDER_AGE, files_with, rep, session

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from strikebridge.store.database import Store
    from strikebridge.store.past import History
    from strikebridge.store.roster import Roster
    from strikebridge.store.training import Training

NAME = b"Quillfeather"


def test_the_search_finds_what_is_there(training: Training, data: Path) -> None:
    assert files_with(data, b"Halloran") != []
    assert files_with(data, INES.id.encode()) != []


def test_no_way_into_the_roster_lets_anything_through(roster: Roster, data: Path) -> None:
    with pytest.raises(ConsentError, match="nothing was stored"):
        roster.add_if_empty([UNDER_AGE])
    roster.add(JUNO)
    ways: tuple[Callable[[], None], ...] = (
        lambda: roster.add(UNDER_AGE),
        lambda: roster.add_all([INES, UNDER_AGE]),
        lambda: roster.change(replace(JUNO, name=UNDER_AGE.name, consent=None)),
        lambda: roster.change(replace(UNDER_AGE, id=JUNO.id)),
    )
    for call in ways:
        with pytest.raises(ConsentError, match="nothing was stored"):
            call()
    assert roster.all() == (JUNO,)
    assert files_with(data, NAME) == []
    assert files_with(data, UNDER_AGE.id.encode()) == []


def writes(training: Training, who: str) -> list[Callable[[], object]]:
    """Give every way in which something of an athlete is written."""
    closed = ClosedTurn(session().id, 1, who, "rear-straight", Closing.PAIN, START)
    return [
        lambda: training.begin(replace(session(number=2), athletes=(INES.id, who))),
        lambda: training.save(replace(rep(1), athlete=who, sentence="Quillfeather")),
        lambda: training.close_turn(closed),
        lambda: training.note_cue(CueRecord(session().id, who, START, "Quillfeather", 1)),
    ]


def test_nothing_of_a_session_is_written_for_whoever_is_not_in_the_roster(
    training: Training, data: Path
) -> None:
    for call in writes(training, UNDER_AGE.id):
        with pytest.raises(RosterError, match="nothing was stored"):
            call()
    assert files_with(data, NAME) == []
    assert files_with(data, UNDER_AGE.id.encode()) == []


def test_nothing_is_written_for_whoever_lost_the_consent_in_another_way(
    training: Training, history: History, store: Store, data: Path
) -> None:
    # as an older program or a hand in the file might leave it
    with store.writing() as at:
        at.execute(text("UPDATE athlete SET consent_on = NULL WHERE id = :id"), {"id": JUNO.id})
    for call in writes(training, JUNO.id):
        with pytest.raises(ConsentError, match="nothing was stored"):
            call()
    assert history.reps(session().id) == ()
    assert history.sessions() == (session(),)
    assert files_with(data, NAME) == []


def test_consent_opens_the_gate(roster: Roster, training: Training, history: History) -> None:
    roster.add(replace(UNDER_AGE, consent=CONSENT))
    for call in writes(training, UNDER_AGE.id):
        call()
    assert [one.athlete for one in history.reps(session().id)] == [UNDER_AGE.id]
