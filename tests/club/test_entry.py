"""An athlete as typed: everything that is wrong at once, and back again."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.club.athlete import (
    AgeGroup,
    Athlete,
    BodyMass,
    Care,
    Consent,
    Stance,
    name_fault,
    tidy_name,
)
from strikebridge.club.entry import FIELDS, fields_of, read_entry

TODAY = date(2026, 3, 1)
PLAIN = {"name": "Ines Halloran", "stance": "orthodox", "age_group": "adult"}

names = st.text(min_size=1, max_size=40).map(tidy_name).filter(lambda one: not name_fault(one))
group_names = names.filter(lambda one: "|" not in one)
days = st.dates(date(2000, 1, 1), TODAY)
athletes = st.builds(
    Athlete,
    id=st.just("1"),
    name=names,
    stance=st.sampled_from(Stance),
    age_group=st.just(AgeGroup.ADULT),
    born_year=st.none() | st.integers(1930, 2008),
    consent=st.none() | st.builds(Consent, days, names),
    cares=st.frozensets(st.sampled_from(Care)),
    note=names,
    masses=st.lists(st.builds(BodyMass, days, st.floats(15.0, 400.0)), max_size=1).map(tuple),
    groups=st.sets(group_names, max_size=3).map(lambda some: tuple(sorted(some))),
)


@settings(max_examples=50, deadline=None)
@given(athletes)
def test_an_athlete_comes_back_from_its_fields(athlete: Athlete) -> None:
    fields = fields_of(athlete)
    assert tuple(fields) == FIELDS
    entry = read_entry(fields, TODAY)
    assert entry.faults == ()
    assert entry.athlete is not None
    assert replace(entry.athlete, id="1") == athlete


@settings(max_examples=50, deadline=None)
@given(st.dictionaries(st.sampled_from(FIELDS), st.text(max_size=60)))
def test_any_text_gives_an_athlete_or_what_is_wrong(fields: dict[str, str]) -> None:
    entry = read_entry(fields, TODAY)
    assert (entry.athlete is None) == bool(entry.faults)
    assert {fault.field for fault in entry.faults} <= set(FIELDS)


@pytest.mark.parametrize(
    ("typed", "field", "word"),
    [
        ({"name": " "}, "name", "no name"),
        ({"stance": "switch"}, "stance", "orthodox or southpaw"),
        ({"stance": ""}, "stance", "an empty field"),
        ({"age_group": "old"}, "age_group", "under 18 or adult"),
        ({"age_group": ""}, "age_group", "no age is given"),
        ({"born_year": "99"}, "born_year", "no year of birth"),
        ({"born_year": "9" * 5000}, "born_year", "no year of birth"),
        ({"born_year": "next"}, "born_year", "no year"),
        ({"age_group": "", "born_year": "x"}, "born_year", "no year"),
        ({"born_year": "2012"}, "age_group", "not adult"),
        ({"age_group": "under 18"}, "consent_on", "parent or guardian"),
        ({"mass_kg": "-63"}, "mass_kg", "no body mass"),
        ({"mass_kg": "6_3"}, "mass_kg", "no number"),
        ({"mass_kg": "nan"}, "mass_kg", "no body mass"),
        ({"weighed_on": "2026-02-01"}, "mass_kg", "missing"),
        ({"mass_kg": "63", "weighed_on": "2026-02-30"}, "weighed_on", "no day"),
        ({"mass_kg": "63", "weighed_on": "2026-W09-7"}, "weighed_on", "no day"),
        ({"mass_kg": "63", "weighed_on": "20260301"}, "weighed_on", "no day"),
        ({"mass_kg": "63", "weighed_on": "2026-03-02"}, "weighed_on", "to come"),
        ({"consent_on": "2026-03-01"}, "consent_by", "who agreed"),
        ({"consent_by": "mother"}, "consent_on", "the day is missing"),
        ({"consent_on": "1.2.2026", "consent_by": "mother"}, "consent_on", "no day"),
        ({"consent_on": "2026-02-01", "consent_by": "a\x07"}, "consent_by", "plain words"),
        ({"wrist": "a little"}, "wrist", "yes or no"),
        ({"note": "n" * 501}, "note", "501 letters"),
        ({"groups": "Seniors||Camp"}, "groups", "no name"),
    ],
)
def test_what_is_wrong_is_said_with_its_field(
    typed: dict[str, str], field: str, word: str
) -> None:
    entry = read_entry(PLAIN | typed, TODAY)
    assert entry.athlete is None
    assert [(fault.field, word in fault.words) for fault in entry.faults] == [(field, True)]


def test_all_that_is_wrong_is_said_at_once() -> None:
    entry = read_entry({"stance": "x", "mass_kg": "y", "shoulder": "z"}, TODAY)
    wrong = sorted(fault.field for fault in entry.faults)
    assert wrong == ["age_group", "mass_kg", "name", "shoulder", "stance"]


def test_a_mass_without_a_day_was_weighed_today() -> None:
    entry = read_entry(PLAIN | {"mass_kg": "63.2", "wrist": "yes"}, TODAY)
    assert entry.athlete is not None
    assert entry.athlete.masses == (BodyMass(TODAY, 63.2),)
    assert entry.athlete.cares == {Care.WRIST}


def test_a_year_of_birth_gives_the_age_group() -> None:
    entry = read_entry(PLAIN | {"age_group": "", "born_year": "1999"}, TODAY)
    assert entry.athlete is not None
    assert entry.athlete.age_group is AgeGroup.ADULT
