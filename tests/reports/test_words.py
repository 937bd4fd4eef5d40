"""Words for a coach: never a digit that the kit cannot stand for."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.analysis import Analysis, analyse_file
from strikebridge.reports.language import language
from strikebridge.reports.wording import Wording
from strikebridge.reports.words import force_words, measure_words, outcome_words, rep_words
from strikebridge.samples import Contact, Gap, MeasureValue, Status
from strikebridge.screens.review_model import value_words
from strikebridge.stream_setup import Setup
from strikebridge.units import ForceUnit, decimals_for, from_newtons
from tests.cli.streams import simulated_recording


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Analysis:
    folder = tmp_path_factory.mktemp("analysis")
    return analyse_file(simulated_recording(folder / "a.jsonl", seconds=10.0), Setup())


@pytest.mark.parametrize(
    ("force_N", "u95_N", "unit", "words"),
    [
        (404.04, 5.9, ForceUnit.KG, "41.2 ± 0.7 kg"),
        (404.04, 20.0, ForceUnit.KG, "41.2 ± 2.1 kg"),
        (404.04, 20.0, ForceUnit.N, "404 ± 20 N"),
        (404.04, 20.0, ForceUnit.LB, "91 ± 5 lb"),
        (404.04, None, ForceUnit.KG, "41 kg"),
        (None, None, ForceUnit.KG, "not measurable"),
        (None, 3.0, ForceUnit.KG, "not measurable"),
    ],
)
def test_a_force_in_words(
    force_N: float | None, u95_N: float | None, unit: ForceUnit, words: str
) -> None:
    assert force_words(force_N, u95_N, unit) == words


@given(st.floats(0.0, 5000.0), st.floats(0.01, 1000.0), st.sampled_from(list(ForceUnit)))
def test_no_digit_is_finer_than_the_doubt(
    force_N: float, u95_N: float, unit: ForceUnit
) -> None:
    value, _, doubt, _ = force_words(force_N, u95_N, unit).split()
    u95 = from_newtons(u95_N, unit)
    decimals = decimals_for(u95, most=0 if unit is ForceUnit.N else 1, fewest=-2)
    last_digit = 10.0**-decimals
    # JCGM 100:2008, 7.2.6: at most two significant digits of the uncertainty; units stay.
    # Two are kept up to 3.54 of the first digit, the rounding rule of the Particle Data Group
    # (value from memory)
    assert last_digit >= min(1.0, u95 / 35.5)
    assert Decimal(doubt).as_tuple().exponent == Decimal(value).as_tuple().exponent
    assert abs(float(value) - from_newtons(force_N, unit)) <= last_digit / 2 * 1.0001
    assert u95 * 0.999_999 <= float(doubt) <= u95 + last_digit, "a doubt is rounded up"


@given(st.floats(100.0, 5000.0), st.floats(0.001, 0.3), st.sampled_from(list(ForceUnit)))
def test_terminal_wall_and_report_write_the_same_of_a_rep(
    force_N: float, share: float, unit: ForceUnit
) -> None:
    u95_N = share * force_N
    said = force_words(force_N, u95_N, unit)
    report = Wording(language("en"), unit).force(force_N, u95_N)
    assert said == report.replace("\u00a0", " ")
    peak = MeasureValue("peak_force", force_N, "N", u95_N / 2.0, 0.0)
    assert said == f"{value_words(peak, unit)} {unit}"


@pytest.mark.parametrize(
    ("value", "u_own", "decimals", "words"),
    [
        (93.4, 2.0, 0, "93 ± 4 %"),
        (93.4, 0.02, 0, "93 ± 1 %"),
        (3.256, 0.02, 2, "3.26 ± 0.04 %"),
        (3.256, None, 2, "3 %"),
        (None, None, 2, "-"),
    ],
)
def test_any_other_measure_in_words(
    value: float | None, u_own: float | None, decimals: int, words: str
) -> None:
    u_common = None if u_own is None else 0.0
    measure = MeasureValue("x", value, "%", u_own, u_common)
    assert measure_words(measure, "%", decimals=decimals) == words


def test_a_measure_that_is_not_there() -> None:
    assert measure_words(None, "s") == "-"


def test_a_rep_is_one_line(found: Analysis) -> None:
    (rep,) = found.reps
    words = rep_words(rep, ForceUnit.KG)
    assert outcome_words(rep, ForceUnit.KG) == words
    assert "\n" not in words
    peak = rep.measures["peak_force"].value
    assert peak is not None
    shown = re.search(r"peak ([\d.]+) ± ([\d.]+) kg", words)
    assert shown is not None
    assert float(shown[1]) == pytest.approx(peak / 9.80665, abs=float(shown[2]))
    assert words.startswith("hold 1   peak ")
    assert words.endswith(f"{rep.verdict.rise}, {rep.verdict.hold}")
    assert "let-go" not in words


def test_a_rep_whose_end_was_not_seen_says_so(found: Analysis) -> None:
    (rep,) = found.reps
    cut = replace(rep, hold=replace(rep.hold, release_s=None))
    assert rep_words(cut, ForceUnit.KG).endswith("let-go not seen")


def test_a_withheld_peak_is_not_measurable(found: Analysis) -> None:
    (rep,) = found.reps
    none = MeasureValue(
        "peak_force", None, "N", None, None, status=Status.WITHHELD, reason="saturated"
    )
    words = rep_words(replace(rep, measures={**rep.measures, "peak_force": none}), ForceUnit.N)
    assert "peak not measurable" in words
    assert "None" not in words


def test_contacts_and_gaps_in_words() -> None:
    contact = Contact(12.34, 12.5, 98.0665, "shorter than 0.3 s")
    words = outcome_words(contact, ForceUnit.KG)
    assert words == "contact at 12.3 s   10 kg   no hold: shorter than 0.3 s"
    assert outcome_words(Gap(3.0, 3.5, 40), ForceUnit.N) == "gap at 3.0 s   40 samples lost"
