"""The page of the plan: settings, who takes part, what is kept, mistakes in a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from strikebridge.club.rig_setup import Feet, Pad, RigSetup
from strikebridge.errors import PlanError, SessionError
from strikebridge.pages.caution import MAXIMAL, CautionPage, is_read
from strikebridge.pages.plan import PlanPage
from strikebridge.pages.who import WhoPage
from strikebridge.plan_shelf import FOLDER, copy_plan, keep_choice, kept_choice
from strikebridge.session.choice import Choice, Volume
from strikebridge.session.plan import Mode, Order
from tests.pages.keys import cells, choose, press
from tests.pages.made import FAULTY_PLAN, LONG_NAME, PLAN, people

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.store.database import Store
    from strikebridge.store.roster import Roster


@pytest.fixture
def page(store: Store, roster: Roster, tmp_path: Path) -> PlanPage:
    roster.add_all(people(8))
    (tmp_path / FOLDER).mkdir()
    (tmp_path / FOLDER / "tuesday.toml").write_text(PLAN)
    return PlanPage(store, tmp_path)


def side_of(page: PlanPage) -> str:
    return " ".join(one.words for one in page.sheet().side)


def test_the_plans_are_gone_through_with_what_they_are(page: PlanPage) -> None:
    seen = []
    for _ in range(6):
        seen.append(cells(page, "Plan")[1])
        press(page, "P")
    assert seen == [
        "warm-up, comes with the program",
        "speed-day, comes with the program",
        "taper-day, comes with the program",
        "fight-day, comes with the program",
        "test-day, comes with the program",
        "tuesday.toml, your own",
    ]
    assert cells(page, "Plan")[1] == seen[0]
    press(page, "Left")
    assert cells(page, "Plan")[1] == seen[-1]
    assert page.sheet().tell == "tuesday: 8 athletes, 120 measured holds, about 59 minutes."
    assert (
        "straight: hold 5 s in a band, 3 reps a side, 2 sets; rest 20 s, 90 s between sets; "
        "band 70 to 80 % of their best."
    ) in side_of(page)
    assert "hook, lead uppercut, straight arm: hold 3 s as hard as they can" in side_of(page)


def test_all_blocks_of_a_plan_are_shown_in_full(page: PlanPage) -> None:
    press(page, "Left")
    blocks = press(page, "W").page
    assert blocks is not None
    assert blocks.sheet().tell == "tuesday: 2 blocks."
    assert cells(blocks, "Hooks")[1].startswith("hook, lead uppercut, straight arm: hold 3 s")
    assert not press(blocks, "Down").leaves
    assert blocks.sheet().chosen == 1
    for key in ("PgDown", "Esc"):
        assert press(blocks, key).leaves


def test_a_plan_is_copied_to_be_changed(page: PlanPage, tmp_path: Path) -> None:
    press(page, "P", "P", "S", "C")
    assert cells(page, "Plan")[1] == "my-taper-day.toml, your own"
    assert page.sheet().said.startswith("Copied to my-taper-day.toml in ")
    assert page.sheet().tell.startswith("my-taper-day: 8 athletes")
    assert cells(page, "Sets")[1] == "1 set of every block"
    own = tmp_path / FOLDER / "my-taper-day.toml"
    own.write_text(own.read_text().replace("seconds = 60", "seconds = 30"))
    press(page, "C")  # of a file of one's own there is no copy
    assert "30 s" in side_of(page)
    for _ in range(3):
        press(page, "Left")
    choose(page, "Plan")
    while not cells(page, "Plan")[1].startswith("taper-day"):
        press(page, "P")
    press(page, "C")
    assert cells(page, "Plan")[1].startswith("my-taper-day-2.toml")
    assert "seconds = 30" in own.read_text()
    (tmp_path / "next").write_text("a file where the folder should be")
    with pytest.raises(PlanError, match="Nothing was changed"):
        copy_plan("taper-day", tmp_path / "next")


def test_settings_change_the_length_and_are_kept(
    page: PlanPage, store: Store, tmp_path: Path
) -> None:
    press(page, "P", "P")
    before = page.sheet().tell
    press(page, "O", "M", "S", "S", "G")
    assert cells(page, "Order")[1].startswith("athlete by athlete")
    assert cells(page, "Led by")[1].startswith("athlete-led")
    assert cells(page, "Sets")[1] == "2 sets of every block"
    assert cells(page, "Group")[1] == "Saltmarsh Quay"
    assert page.sheet().tell != before
    choose(page, "Keep")
    assert press(page, "Space").page is not None  # the caution, the first time
    kept = kept_choice(tmp_path)
    assert kept is not None
    assert (kept.plan, kept.group, len(kept.athletes)) == ("taper-day", "Saltmarsh Quay", 6)
    assert (kept.order, kept.mode, kept.volume) == (
        Order.ATHLETE,
        Mode.ATHLETE,
        Volume(sets=2),
    )
    again = PlanPage(store, tmp_path)
    assert again.sheet().tell == page.sheet().tell
    assert [row.cells for row in again.sheet().rows] == [row.cells for row in page.sheet().rows]


def test_what_the_plan_says_is_not_kept_as_a_choice(page: PlanPage, tmp_path: Path) -> None:
    press(page, "O", "O", "M", "M", "M", "K")
    kept = kept_choice(tmp_path)
    assert kept is not None
    assert (kept.order, kept.mode, kept.group) == (None, None, "")


def test_more_than_the_dose_is_confirmed_or_not_kept(page: PlanPage, tmp_path: Path) -> None:
    press(page, "P", "P", "P")
    assert "Dose: 1 set for those new to it, 3 sets for those used to it at most." in side_of(
        page
    )
    press(page, "S", "S")
    assert page.sheet().tell == "fight-day: more than the dose."
    assert press(page, "K").leaves is False
    assert kept_choice(tmp_path) is None
    press(page, "Y")
    assert cells(page, "Dose")[1] == "more than the dose: confirmed"
    assert press(page, "K").leaves
    kept = kept_choice(tmp_path)
    assert kept is not None
    assert kept.volume == Volume(sets=2, is_confirmed=True)
    press(page, "U")
    assert cells(page, "Used to it")[1] == "yes"
    assert not [row for row in page.sheet().rows if row.key == "dose"]
    press(page, "S", "S")
    assert cells(page, "Sets")[1] == "4 sets of every block"
    assert cells(page, "Dose")[1] == "more than the dose: not confirmed"


def test_blocks_that_differ_in_sets_are_said_so(page: PlanPage) -> None:
    assert cells(page, "Sets")[1] == "as the plan says: 1 to 3, by block"


def test_used_to_it_changes_the_sets_of_the_plan(page: PlanPage) -> None:
    press(page, "P", "P", "P")
    assert cells(page, "Sets")[1] == "as the plan says: 1"
    press(page, "U")
    assert cells(page, "Sets")[1] == "as the plan says: 3"


def test_who_takes_part_and_in_which_order(page: PlanPage, tmp_path: Path) -> None:
    who = press(page, "A").page
    assert isinstance(who, WhoPage)
    press(who, "N")
    assert who.sheet().tell == "0 of 8 take part."
    assert page.sheet().tell == "Nobody takes part yet."
    assert cells(page, "Who")[1] == "nobody yet"
    for name in ("Juno", LONG_NAME):
        choose(who, name)
        press(who, "Space")
    assert cells(who, LONG_NAME)[1] == "number 2"
    for _ in range(9):
        press(who, "Left")
    assert cells(who, LONG_NAME)[1] == "number 1"
    press(who, "Right", "Left")
    choose(who, "Done")
    press(who, "Left")  # it is nobody's row
    assert press(who, "PgDown").leaves
    assert cells(page, "Who")[1] == f"2 of 8: {LONG_NAME}, Juno Pettigrew"
    assert cells(page, "Group")[1] == "picked one by one"
    press(page, "K")
    kept = kept_choice(tmp_path)
    assert kept is not None
    assert len(kept.athletes) == 2
    press(who, "A")
    assert cells(page, "Group")[1] == "everybody"
    assert cells(page, "Who")[1].endswith("and 5 more")
    assert press(who, "Esc").leaves


def test_whoever_left_the_roster_is_out(
    page: PlanPage, store: Store, roster: Roster, tmp_path: Path
) -> None:
    press(page, "K")
    roster.remove("Ines Halloran")
    press(page, "U")
    assert cells(page, "Who")[1].startswith("7 of 7")
    assert cells(PlanPage(store, tmp_path), "Who")[1].startswith("7 of 7")
    for one in roster.all():
        roster.remove(one.id)
    empty = PlanPage(store, tmp_path)
    assert cells(empty, "Who")[1] == "nobody: add athletes first"
    assert not press(empty, "K").leaves


def test_mistakes_of_a_file_are_all_named_until_it_is_mended(
    page: PlanPage, tmp_path: Path
) -> None:
    file = tmp_path / FOLDER / "wednesday.toml"
    file.write_text(FAULTY_PLAN)
    press(page, "Left")
    assert page.sheet().tell == "wednesday.toml has mistakes."
    assert "line 6, exercises: 'haymaker' is unknown." in side_of(page)
    assert "And 3 more: press F." in side_of(page)
    assert not press(page, "K").leaves
    assert not press(page, "Right").leaves
    press(page, "Left")
    faults = press(page, "F").page
    assert faults is not None
    assert [row.cells[0].split(":")[0] for row in faults.sheet().rows[2:]] == [
        "line 1, name",
        "line 2, order",
        "line 6, exercises",
        "line 7, seconds",
        "line 8, reps_per_side",
        "line 9, sets",
        "line 10, colour",
        "line 12, seconds",
        "line 13, name",
    ]
    assert not press(faults, "R").leaves
    file.write_text(PLAN.replace("tuesday", "wednesday"))
    assert press(faults, "R").leaves
    assert page.sheet().tell.startswith("wednesday: 8 athletes")


def test_a_plan_that_is_gone_gives_way_to_the_first(
    page: PlanPage, store: Store, tmp_path: Path
) -> None:
    keep_choice(Choice("gone.toml"), tmp_path)
    assert cells(PlanPage(store, tmp_path), "Plan")[1].startswith("warm-up")


def test_too_much_for_a_day_is_said(page: PlanPage, store: Store, roster: Roster) -> None:
    here = {one.name for one in roster.all()}
    roster.add_all([one for one in people(200) if one.name not in here])
    block = 'name = "Many"\nexercises = ["straight", "hook"]\nseconds = 3\nreps_per_side = 20\n'
    for path in (page._data / FOLDER).iterdir():
        path.write_text(f'name = "long"\n[[block]]\n{block}')
    long = PlanPage(store, page._data)
    press(long, "Left")
    assert long.sheet().tell == "That is too much for a day."


def test_the_caution_before_maximal_work_comes_once(page: PlanPage, tmp_path: Path) -> None:
    press(page, "P", "P")
    step = press(page, "K")
    assert step.leaves
    assert isinstance(step.page, CautionPage)
    sheet = step.page.sheet()
    assert sheet.title == "Before maximal holds"
    assert not press(step.page, "7").leaves
    assert not is_read(tmp_path, MAXIMAL)
    assert press(step.page, "PgDown").leaves
    assert press(page, "K").page is None
    for broken in (b"{", b"3"):
        (tmp_path / "cautions.json").write_bytes(broken)
        assert not is_read(tmp_path, MAXIMAL)


def test_a_choice_that_cannot_be_kept_is_an_error_in_words(
    page: PlanPage, tmp_path: Path
) -> None:
    (tmp_path / "next-session.new").mkdir()
    with pytest.raises(SessionError, match="The roster is safe"):
        press(page, "K")


@pytest.mark.parametrize("key", ["Esc", "B", "."])
def test_leaving_keeps_nothing(key: str, page: PlanPage, tmp_path: Path) -> None:
    assert press(page, "P", key).leaves
    choose(page, "Back")
    assert press(page, "Space").leaves
    assert kept_choice(tmp_path) is None


def test_the_set_up_and_the_cues_are_typed_kept_and_carried_to_another_plan(
    page: PlanPage, store: Store, tmp_path: Path
) -> None:
    assert cells(page, "Set-up")[1] == "set-up not noted"
    form = press(page, "R").form
    assert form is not None
    typed = {field.key: field.value for field in form.fields}
    assert set(typed.values()) == {""}
    typed |= {"height": "1,45", "away": "0.6", "pad": "ball", "elbow": "180", "feet": "side-on"}
    answer = page.answer(form, typed | {"cues": " hip first, snap ,,"})
    assert answer.is_done
    said = "pad 1.45 m high, 0.60 m away, ball, feet side-on, elbow 180°"
    assert cells(page, "Set-up")[1] == said
    press(page, "P", "P", "K")
    kept = kept_choice(tmp_path)
    assert kept is not None
    assert kept.rig == RigSetup(1.45, 0.6, Pad.BALL, elbow_deg=180.0, feet=Feet.SIDE_ON)
    assert kept.cues == ("hip first", "snap")
    again = press(PlanPage(store, tmp_path), "R").form
    assert again is not None
    assert [one.value for one in again.fields] == [
        *("1.45", "0.6", "ball", "", "", "180", "side-on", "hip first, snap"),
    ]


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("height", "145", "0.3 to 3 m is possible."),
        ("away", "far", "0.1 to 3 m is possible."),
        ("elbow", "nan", "30 to 180 degrees is possible."),
        ("cues", ",".join("abcdefghij"), "10 cues are too many"),
        ("cues", 41 * "a", "is too long"),
    ],
)
def test_what_cannot_be_is_said_at_its_field(
    page: PlanPage, field: str, text: str, words: str
) -> None:
    form = press(page, "R").form
    assert form is not None
    answer = page.answer(form, {field: text})
    assert not answer.is_done
    (fault,) = answer.faults
    assert fault.field == field
    assert words in fault.words
    assert cells(page, "Set-up")[1] == "set-up not noted"
