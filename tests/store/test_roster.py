"""Athletes and groups: what goes in comes out, and a mistake changes nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from strikebridge.club.athlete import BodyMass, Care, Side, Stance
from strikebridge.club.exercise import Arm, Exercise, Way
from strikebridge.club.saltmarsh_quay import CLUB, saltmarsh_quay
from strikebridge.errors import RosterError
from strikebridge.store.exercises import OwnExercises
from tests.store.made import CONSENT, DAY, INES, JUNO, START, files_with, rep, session

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.club.athlete import Athlete
    from strikebridge.store.database import Store
    from strikebridge.store.roster import Roster
    from strikebridge.store.training import Training


def test_athletes_come_back_by_name_and_by_id(roster: Roster) -> None:
    roster.add(JUNO)
    roster.add(INES)
    assert roster.all() == (INES, JUNO)
    assert roster.find(" ines  HALLORAN") == INES
    assert roster.find(JUNO.id) == JUNO


def test_nobody_of_that_name_is_said_with_who_may_be_meant(roster: Roster) -> None:
    with pytest.raises(RosterError, match="See who there is"):
        roster.find("Ines Halloran")
    roster.add_all([INES, JUNO])
    for typed in ("Ines Haloran", "ines"):
        with pytest.raises(RosterError, match=r"Did you mean Ines Halloran\?"):
            roster.find(typed)
    with pytest.raises(RosterError, match="See who there is"):
        roster.find("Nobody")


@pytest.mark.parametrize("same", ["Ines Halloran", "INES halloran"])
def test_a_name_is_there_once_and_a_table_is_all_or_nothing(roster: Roster, same: str) -> None:
    with pytest.raises(RosterError, match="already, and nothing was changed"):
        roster.add_all([JUNO, INES, replace(INES, id="9", name=same)])
    assert roster.all() == ()
    roster.add(INES)
    with pytest.raises(RosterError, match="already"):
        roster.add_all([JUNO, replace(INES, id="9", name=same)])
    assert roster.all() == (INES,)


@pytest.mark.parametrize(
    ("wrong", "word"),
    [
        (replace(INES, name=" "), "no name"),
        (replace(INES, groups=("Seniors", "")), "group was not stored"),
        (replace(INES, masses=(BodyMass(DAY, -3.0),)), "no body mass"),
        (replace(INES, masses=(BodyMass(date(2026, 3, 2), 63.0),)), "to come"),
        (replace(INES, born_year=2012, consent=CONSENT), "not adult"),
        (replace(JUNO, consent=replace(CONSENT, given_on=date(2027, 1, 1))), "to come"),
    ],
)
def test_what_will_not_do_is_not_stored_whoever_asks(
    roster: Roster, wrong: Athlete, word: str
) -> None:
    with pytest.raises(RosterError, match=word):
        roster.add(wrong)
    assert roster.all() == ()


def test_an_edit_puts_new_values_in_place_of_the_old(roster: Roster) -> None:
    roster.add_all([INES, JUNO])
    changed = replace(
        INES,
        name="Ines H.",
        stance=Stance.SOUTHPAW,
        cares=frozenset({Care.WRIST, Care.SHOULDER}),
        note="",
        masses=(BodyMass(date(2026, 2, 5), 62.0), BodyMass(DAY, 61.0)),
        groups=("Camp",),
    )
    roster.change(changed)
    assert roster.all() == (changed, JUNO)
    assert roster.groups() == {"Camp": 1}  # the other one has nobody left
    roster.change(INES)
    assert roster.all() == (INES, JUNO)


def test_an_edit_cannot_take_the_name_of_another_nor_make_somebody(roster: Roster) -> None:
    roster.add_all([INES, JUNO])
    with pytest.raises(RosterError, match="already"):
        roster.change(replace(INES, name="juno pettigrew"))
    with pytest.raises(RosterError, match="no athlete"):
        roster.change(replace(INES, id="8", name="Somebody"))
    roster.change(replace(INES, name="INES HALLORAN"))  # her own, in capitals
    assert roster.find(INES.id).name == "INES HALLORAN"


def test_groups_begin_with_their_first_athlete_and_end_with_their_last(roster: Roster) -> None:
    roster.add_all([INES, JUNO])
    found = roster.put_in("Camp", [JUNO.name, INES.id])
    assert [one.name for one in found] == ["Juno Pettigrew", "Ines Halloran"]
    roster.put_in("camp", [JUNO.name])
    assert roster.groups() == {"Camp": 2, "Seniors": 1}
    assert [one.name for one in roster.all("CAMP")] == ["Ines Halloran", "Juno Pettigrew"]
    roster.take_out("camp", [JUNO.name])
    roster.take_out("camp", [JUNO.name, INES.name])
    assert roster.groups() == {"Seniors": 1}
    with pytest.raises(RosterError, match="no group camp"):
        roster.all("camp")
    with pytest.raises(RosterError, match="no group camp"):
        roster.take_out("camp", [INES.name])


def test_a_group_with_one_wrong_name_is_not_begun(roster: Roster) -> None:
    roster.add(INES)
    with pytest.raises(RosterError, match="no athlete Nobody"):
        roster.put_in("Camp", [INES.name, "Nobody"])
    with pytest.raises(RosterError, match="group was not stored"):
        roster.put_in(" ", [INES.name])
    assert roster.groups() == {"Seniors": 1}


def test_a_slip_is_taken_back_without_a_trace(roster: Roster, store: Store, data: Path) -> None:
    roster.add_all([INES, JUNO])
    assert files_with(data, b"Pettigrew") != []
    assert roster.remove("juno pettigrew") == JUNO
    assert roster.all() == (INES,)
    assert files_with(data, b"Pettigrew") == []
    assert files_with(data, JUNO.id.encode()) == []
    roster.remove(INES.id)
    assert roster.groups() == {}


def test_whoever_took_part_is_not_removed(training: Training, roster: Roster) -> None:
    training.save(rep(1))
    for who in (INES.name, JUNO.name):  # one has a rep, the other only stands in the session
        with pytest.raises(RosterError, match="has taken part"):
            roster.remove(who)
    assert roster.all() == (INES, JUNO)


def test_the_invented_club_fills_an_empty_roster_only(roster: Roster) -> None:
    assert roster.add_if_empty(saltmarsh_quay())
    assert not roster.add_if_empty(saltmarsh_quay())
    assert len(roster.all(CLUB)) == 6


def test_own_exercises_are_kept_changed_and_taken_back(store: Store) -> None:
    own = OwnExercises(store)
    press = Exercise("wall-press-kneeling", "wall press, kneeling", Way.MEASURED)
    own.put(press)
    hook = Exercise("lead-hook-towel", "lead hook", Way.TIMED, Side.LEAD, Arm.BENT)
    own.put(replace(hook, name="  lead   hook "))
    assert own.all() == (hook, press)
    own.put(replace(press, name="wall press"))
    own.remove(hook.key)
    assert [one.name for one in own.all()] == ["wall press"]


def test_an_own_exercise_that_will_not_do_or_was_done_is_said(
    training: Training, store: Store
) -> None:
    own = OwnExercises(store)
    for wrong in (Exercise("Bad Key", "x", Way.TIMED), Exercise("key", " ", Way.TIMED)):
        with pytest.raises(RosterError, match="was not stored"):
            own.put(wrong)
    with pytest.raises(RosterError, match="no exercise key"):
        own.remove("key")
    own.put(Exercise("towel-hold", "towel hold", Way.MEASURED))
    training.save(replace(rep(1), exercise="towel-hold", session=session().id, ended_at=START))
    with pytest.raises(RosterError, match="There are reps of towel-hold"):
        own.remove("towel-hold")
    assert len(own.all()) == 1
