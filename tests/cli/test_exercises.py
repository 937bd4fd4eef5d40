"""`exercises`: listed, added, taken back; and a plan that names one."""

import json
from pathlib import Path

import pytest

from strikebridge.cli import run
from strikebridge.club.exercise import key_of_name
from strikebridge.session.exercises import EXERCISES


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = run(["exercises", *words])
    out, err = capsys.readouterr()
    return code, out, err


def test_an_exercise_is_added_listed_and_taken_back(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert "None of your own yet" in said(capsys, "list", "--own")[1]
    code, out, _ = said(capsys, "add", "Wall sit, one leg", "--side", "both")
    assert code == 0
    assert out.splitlines() == [
        "lead Wall sit, one leg added; a plan names it lead-wall-sit-one-leg.",
        "rear Wall sit, one leg added; a plan names it rear-wall-sit-one-leg.",
    ]
    rows = said(capsys, "list")[1].splitlines()
    assert len(rows) == len(EXERCISES) + 2
    assert rows[-1] == "rear-wall-sit-one-leg       rear Wall sit, one leg, timed"
    assert said(capsys, "remove", "lead-wall-sit-one-leg")[:2] == (
        0,
        "lead-wall-sit-one-leg removed.\n",
    )
    code, _, err = said(capsys, "remove", "lead-wall-sit-one-leg")
    assert code == 1
    assert "no exercise lead-wall-sit-one-leg of your own" in err


def test_json_has_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("add", "Palm press", "--way", "measured", "--arm", "bent", "--json")
    expected = {
        "key": "palm-press",
        "name": "Palm press",
        "way": "measured",
        "side": None,
        "arm": "bent",
        "own": True,
    }
    assert json.loads(said(capsys, *words)[1]) == {"exercises": [expected]}
    assert json.loads(said(capsys, "list", "--own", "--json")[1]) == {"exercises": [expected]}
    listed = json.loads(said(capsys, "list", "--json")[1])["exercises"]
    assert [one["key"] for one in listed if not one["own"]] == list(EXERCISES)
    assert json.loads(said(capsys, "remove", "palm-press", "--json")[1]) == {
        "removed": "palm-press"
    }


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("rear hook", "there is rear hook with the word rear-hook already"),
        ("Wall press", "there is isometric press against the wall"),
        ("hook", "there is lead hook and rear hook with the word hook already"),
        ("  ", "there is no name"),
        ("!?", "'!?' has no word in it for a plan to use"),
        ("<b>x</b>", "has no word in it for a plan to use"),
        ("x" * 61, "has 61 letters"),
    ],
)
def test_a_name_that_will_not_do_is_wrong_usage(
    name: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = said(capsys, "add", name)
    assert (code, out) == (2, "")
    assert words in " ".join(err.split())


def test_one_of_the_own_ones_is_never_written_over(
    capsys: pytest.CaptureFixture[str],
) -> None:
    said(capsys, "add", "Wall sit")
    assert said(capsys, "add", "wall SIT", "--way", "measured")[0] == 2
    assert "wall-sit  Wall sit, timed" in said(capsys, "list", "--own")[1]


def test_a_plan_names_an_own_exercise(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = tmp_path / "sits.toml"
    plan.write_text(
        'name = "sits"\nmode = "rounds"\n[[block]]\nname = "Sits"\nexercises = ["wall-sit"]\n'
        "seconds = 2\nrest_s = 1\n"
    )
    words = ["session", str(plan), "--board", "simulated:", "--speed", "max", "--json"]
    assert run(words) == 1
    assert "'wall-sit' is unknown" in capsys.readouterr().err
    said(capsys, "add", "Wall sit")
    assert run(words) == 0
    assert json.loads(capsys.readouterr().out)["planned"] == 0  # timed ones are not counted
    code, _, err = said(capsys, "remove", "wall-sit")
    assert code == 1
    assert "There are reps of wall-sit" in err


@pytest.mark.parametrize(
    ("name", "key"),
    [("Kniebeuge, brüchig", "kniebeuge-bruchig"), ("  A  b ", "a-b"), ("日本", "")],
)
def test_the_key_is_made_of_the_name(name: str, key: str) -> None:
    assert key_of_name(name) == key
