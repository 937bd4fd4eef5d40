"""Numbers with unit, ± and decimal mark, in each language and unit."""

from datetime import date

import pytest

from strikebridge.progress.estimate import Estimate
from strikebridge.reports.language import language
from strikebridge.reports.wording import NOTHING, Wording
from strikebridge.samples import MeasureValue, Status
from strikebridge.units import ForceUnit

ENGLISH, GERMAN = Wording(language("en")), Wording(language("de"))


def plain(words: str) -> str:
    return words.replace("\u00a0", " ").replace("\u2212", "-")


@pytest.mark.parametrize(
    ("key", "unit", "words"),
    [
        ("en", ForceUnit.KG, "41.2 ± 0.7 kg"),
        ("de", ForceUnit.KG, "41,2 ± 0,7 kg"),
        ("de", ForceUnit.N, "404 ± 6 N"),
        ("en", ForceUnit.LB, "90.8 ± 1.4 lb"),
    ],
)
def test_a_force(key: str, unit: ForceUnit, words: str) -> None:
    wording = Wording(language(key), unit)
    assert plain(wording.force(404.04, 5.9)) == words


@pytest.mark.parametrize(
    ("value_N", "words"),
    [(60.0, "+6 ± 4 kg"), (-60.0, "-6 ± 4 kg"), (0.9, "0 ± 4 kg"), (-0.9, "0 ± 4 kg")],
)
def test_a_gain_has_a_plus_a_loss_a_minus_nothing_neither(value_N: float, words: str) -> None:
    assert plain(ENGLISH.force(value_N, 38.0, is_signed=True)) == words
    number = ENGLISH.number(value_N / 9.80665, 3.87, "kg", is_signed=True)
    assert plain(number) == words


@pytest.mark.parametrize(
    ("value", "u95", "words"),
    [
        (8.4, 8.3, "+8.4 ± 8.3"),  # whole numbers would say 8 ± 9
        (8.3, 8.4, "+8 ± 9"),
        (50.4, 49.3, "+50.4 ± 49.3"),
        (-3.04, 3.01, "-3.04 ± 3.01"),
        (12.0, 3.0, "+12.0 ± 3.0"),
    ],
)
def test_rounding_does_not_hide_which_is_larger(value: float, u95: float, words: str) -> None:
    said = plain(ENGLISH.number(value, u95, "", is_signed=True))
    number, _, doubt = said.partition(" ± ")
    assert (abs(float(number)) > float(doubt)) == (abs(value) > u95)
    assert said == words


def test_nothing_breaks_between_number_and_unit() -> None:
    assert " " not in ENGLISH.force(404.0, 5.9)
    assert " " not in ENGLISH.number(93.2, 4.0, "%")


def test_what_is_not_known_is_a_dash_or_whole_units() -> None:
    assert ENGLISH.force(None) == NOTHING
    assert ENGLISH.number(None, None, "%") == NOTHING
    assert ENGLISH.measure(None) == NOTHING
    withheld = MeasureValue("sag", None, "%/s", None, None, status=Status.WITHHELD)
    assert ENGLISH.measure(withheld) == NOTHING
    assert plain(ENGLISH.force(404.0)) == "41 kg"
    assert plain(ENGLISH.number(93.4, None, "%")) == "93 %"


def test_an_estimate_says_what_it_is_of() -> None:
    assert plain(ENGLISH.estimate(Estimate(9.80665, "N/wk", 2.4))) == "+1.0 ± 0.5 kg a week"
    assert plain(GERMAN.estimate(Estimate(-5.0, "%", 1.0))) == "-5,0 ± 2,0 %"
    words = ENGLISH.body_weights(Estimate(9.80665, "N/kg", 0.098))
    assert plain(words) == "1.00 ± 0.02 × body weight"


def test_a_measure_in_its_own_unit() -> None:
    held = MeasureValue("held_time", 2.98, "s", 0.02, 0.0)
    assert plain(ENGLISH.measure(held, most=2)) == "2.98 ± 0.04 s"
    peak = MeasureValue("peak_force", 404.04, "N", 2.95, 0.0)
    assert plain(GERMAN.measure(peak)) == "41,2 ± 0,7 kg"


def test_days_and_lists() -> None:
    day = date(2026, 3, 2)
    assert ENGLISH.day(day) == "2 March 2026"
    assert GERMAN.day(day) == "2. März 2026"
    assert ENGLISH.short_day(day) == "2 Mar"
    assert ENGLISH.listed(["a", "b", "c"]) == "a, b and c"
    assert GERMAN.listed(["a", "b"]) == "a und b"
    assert ENGLISH.listed([]) == ""


def test_an_exercise_of_the_coach_keeps_its_name() -> None:
    assert GERMAN.exercise("rear-straight") == "Schlaghand gerade"
    assert GERMAN.exercise("towel-hold", "Towel hold") == "Towel hold"
    assert GERMAN.exercise("towel-hold") == "towel hold"
