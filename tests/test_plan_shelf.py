"""The shelf of plans and the kept choice, and a session that is begun from it."""

import contextlib
from pathlib import Path

import pytest

from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.errors import FaultyPlanError, PlanError, SessionError
from strikebridge.opening import begin_chosen
from strikebridge.plan_shelf import (
    CHOICE_FILE,
    FOLDER,
    LARGEST_BYTES,
    keep_choice,
    kept_choice,
    shelf,
)
from strikebridge.session.choice import Choice, Volume
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.plan import Mode, Order
from strikebridge.session.plan_file import BUILT_IN
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training

OWN = """\
name = "tuesday"
[[block]]
name = "Straights"
exercises = ["straight"]
seconds = 3
"""


def written(data: Path, name: str, text: str | bytes) -> None:
    (data / FOLDER).mkdir(exist_ok=True)
    (data / FOLDER / name).write_bytes(text if isinstance(text, bytes) else text.encode())


def test_own_plans_stand_behind_the_programs_by_name(tmp_path: Path) -> None:
    assert [one.key for one in shelf(tmp_path, EXERCISES)] == list(BUILT_IN)
    written(tmp_path, "tuesday.toml", OWN)
    written(tmp_path, "monday.toml", OWN.replace("tuesday", "monday"))
    written(tmp_path, "notes.txt", "no plan")
    found = shelf(tmp_path, EXERCISES)
    assert [one.key for one in found if one.is_own] == ["monday.toml", "tuesday.toml"]
    assert all(one.plan is not None and not one.faults for one in found)


def test_what_is_wrong_with_a_file_is_said_in_full(tmp_path: Path) -> None:
    faulty = OWN.replace("straight", "haymaker").replace("seconds = 3", "seconds = 0")
    written(tmp_path, "a.toml", faulty)
    written(tmp_path, "b.toml", b"\xff\xfe")
    written(tmp_path, "c.toml", "#" * (LARGEST_BYTES + 1))
    by_key = {one.key: one for one in shelf(tmp_path, EXERCISES) if one.is_own}
    assert all(one.plan is None for one in by_key.values())
    assert [words.split(":")[0] for words in by_key["a.toml"].faults] == [
        "line 4, exercises",
        "line 5, seconds",
    ]
    assert "UTF-8" in by_key["b.toml"].faults[0]
    assert "too large" in by_key["c.toml"].faults[0]


def test_the_choice_is_kept_and_replaced(tmp_path: Path) -> None:
    data = tmp_path / "data"
    assert kept_choice(data) is None
    keep_choice(Choice("taper-day"), data)
    keep_choice(Choice("speed-day", ("1",)), data)
    assert kept_choice(data) == Choice("speed-day", ("1",))
    assert [path.name for path in data.iterdir()] == [CHOICE_FILE]
    (data / CHOICE_FILE).write_bytes(b"{")
    assert kept_choice(data) is None


def test_a_choice_that_cannot_be_kept_is_said(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file where the folder should be")
    with pytest.raises(SessionError, match="cannot be kept"):
        keep_choice(Choice("taper-day"), tmp_path / "data")


def test_a_session_begins_as_it_was_chosen(tmp_path: Path) -> None:
    written(tmp_path, "tuesday.toml", OWN)
    people = saltmarsh_quay()
    with contextlib.closing(open_store(tmp_path)) as store:
        Roster(store).add_all(people)
        chosen = Choice(
            "tuesday.toml",
            (people[3].id, "0" * 32, people[0].id),
            "Seniors",
            Volume(sets=2),
            Order.ROTATION,
            Mode.ROUNDS,
        )
        opened = begin_chosen(store, chosen, tmp_path)
        assert list(opened.athletes) == [people[3].id, people[0].id]
        assert (opened.plan.order, opened.plan.mode) == (Order.ROTATION, Mode.ROUNDS)
        assert len(opened.turns) == 2 * 2 * 2
        (kept,) = Training(store).unfinished()
        assert (kept.plan, kept.group) == ("tuesday", "Seniors")
        assert kept.athletes == tuple(opened.athletes)


def test_what_cannot_begin_writes_nothing(tmp_path: Path) -> None:
    written(tmp_path, "tuesday.toml", OWN.replace("straight", "haymaker"))
    with contextlib.closing(open_store(tmp_path)) as store:
        people = saltmarsh_quay()
        Roster(store).add_all(people)
        who = (people[0].id,)
        with pytest.raises(FaultyPlanError, match="line 4, exercises"):
            begin_chosen(store, Choice("tuesday.toml", who), tmp_path)
        with pytest.raises(FaultyPlanError, match="cannot be read"):
            begin_chosen(store, Choice("gone.toml", who), tmp_path)
        with pytest.raises(PlanError, match="nobody"):
            begin_chosen(store, Choice("taper-day"), tmp_path)
        with pytest.raises(PlanError, match="dose"):
            begin_chosen(store, Choice("fight-day", who, "", Volume(sets=3)), tmp_path)
        assert not Training(store).unfinished()
