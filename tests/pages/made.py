"""Invented people, tables and plans for the pages of the club."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from strikebridge.club.athlete import AgeGroup, Athlete, BodyMass, Care, Stance
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.club.training import new_id

LONG_NAME = "Wilhelmina Featherstonehaugh-Oyelaran"
PLAN = """\
name = "tuesday"
about = "Straights in a band of the best, then hooks."
order = "rotation"
mode = "rounds"

[[block]]
name = "Straights in the band"
exercises = ["straight"]
seconds = 5
effort = "submaximal"
target = "band of best"
band_percent = [70, 80]
reps_per_side = 3
sets = 2

[[block]]
name = "Hooks, hard"
exercises = ["hook", "lead-uppercut-straight-arm"]
seconds = 3
"""
FAULTY_PLAN = """\
name = "Wednesday"
order = "at random"

[[block]]
name = "Straights"
exercises = ["haymaker"]
seconds = 0
reps_per_side = 0
sets = "three"
colour = "red"

[[block]]
name = "straights"
exercises = ["hook"]
"""
FAULTY_TABLE = """\
name,stance,age_group,mass_kg,consent_on,consent_by,weighed_on
Ida Marrow,orthodox,adult,63.5,,,
Zebulon Quillfeather,orthodox,under 18,50,,,
Ida Marrow,sideways,adult,sixty,,,
Bruno Vell,southpaw,adult,71,2026-13-01,,2026-02-30
,orthodox,adult,70,,,
"""
GOOD_TABLE = """\
name,stance,age_group,mass_kg,consent_on,consent_by,groups
Ida Marrow,orthodox,adult,63.5,,,Seniors
Zebulon Quillfeather,southpaw,under 18,50,2026-01-10,mother,Juniors
"""


def people(number: int) -> tuple[Athlete, ...]:
    """Give the invented six, one with the longest name, and more of them."""
    long = Athlete(
        new_id(),
        LONG_NAME,
        Stance.SOUTHPAW,
        AgeGroup.ADULT,
        1999,
        cares=frozenset(Care),
        note="Comes late on Tuesdays; warm up the left shoulder with the band first.",
        masses=tuple(BodyMass(date(2026, month, 5), 100.5 + month) for month in range(1, 6)),
        groups=("Seniors", "Tuesday evening, those who have fought before"),
    )
    first = saltmarsh_quay()[:-1]
    more = [
        replace(first[at % 5], id=new_id(), name=f"Invented Person {at:03}", groups=())
        for at in range(number - len(first) - 2)
    ]
    return (*saltmarsh_quay(), long, *more)
