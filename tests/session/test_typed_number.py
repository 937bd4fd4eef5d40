"""Keys become a number that can be, or a question."""

import pytest

from strikebridge.session.conductor import Key
from strikebridge.session.typed_number import LONGEST, Typed, TypedNumber
from strikebridge.units import ForceUnit

KEYS = {
    **{str(n): Key(str(n)) for n in range(10)},
    ".": Key.POINT,
    "<": Key.RUB,
    "!": Key.ENTER,
}


def typed(entry: TypedNumber, keys: str) -> list[Typed]:
    done = [entry.press(KEYS[key]) for key in keys]
    return [one for one in done if one is not None]


@pytest.mark.parametrize(
    ("keys", "value", "step"),
    [
        ("41.5!", 41.5, 0.1),
        ("41!", 41.0, 1.0),
        ("4<41.50!", 41.5, 0.01),
        ("41..5!", 41.5, 0.1),
        ("<<38.!", 38.0, 1.0),
    ],
)
def test_a_number_that_can_be_is_taken(keys: str, value: float, step: float) -> None:
    (one,) = typed(TypedNumber(ForceUnit.KG), keys)
    assert one.value == value
    assert one.step == pytest.approx(step)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ("!", "Type what the scale showed"),
        (".!", "Type what the scale showed"),
        ("0!", "is no hold"),
        ("0.0!!", "is no hold"),
        ("4150!!!", "cannot be"),
    ],
)
def test_an_impossible_number_is_never_taken(keys: str, words: str) -> None:
    entry = TypedNumber(ForceUnit.KG)
    assert typed(entry, keys) == []
    assert words in entry.question


@pytest.mark.parametrize(("keys", "words"), [("412", "very much"), ("1.5", "very little")])
def test_an_unlikely_number_is_asked_about_once(keys: str, words: str) -> None:
    entry = TypedNumber(ForceUnit.KG)
    assert typed(entry, f"{keys}!") == []
    assert words in entry.question
    assert [one.value for one in typed(entry, "!")] == [float(keys)]


def test_a_number_unlike_the_one_before_is_asked_about() -> None:
    entry = TypedNumber(ForceUnit.KG)
    assert len(typed(entry, "40!")) == 1
    entry.begin()
    assert typed(entry, "14!") == []
    assert entry.question == "14 kg after 40 kg? Enter again if it is right."
    assert [one.value for one in typed(entry, "<<41!")] == [41.0]
    entry.begin("41")  # a slip: what is meant is held against the one before it
    assert entry.text == "41"
    assert [one.value for one in typed(entry, "<<79!")] == [79.0]


def test_the_limits_hold_in_every_unit() -> None:
    assert len(typed(TypedNumber(ForceUnit.N), "412!")) == 1
    assert typed(TypedNumber(ForceUnit.LB), "912!") == []


def test_what_does_not_fit_is_not_written() -> None:
    entry = TypedNumber(ForceUnit.KG)
    typed(entry, "1234567890")
    assert entry.text == "1234567890"[:LONGEST]
