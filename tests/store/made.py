"""Invented records of Saltmarsh Quay for the tests of the store."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from typing import TYPE_CHECKING

from strikebridge.club.athlete import (
    AgeGroup,
    Athlete,
    BodyMass,
    Care,
    Consent,
    Hand,
    Stance,
)
from strikebridge.club.rig_setup import Cover, Feet, Fist, Pad, RigSetup
from strikebridge.club.training import RepRecord, SessionRecord
from strikebridge.samples import Effort, MeasureValue, Prescription, Status

if TYPE_CHECKING:
    from pathlib import Path

DAY = date(2026, 3, 1)
HERE = timezone(timedelta(hours=1))
START = datetime(2026, 3, 1, 18, 30, tzinfo=HERE)
SETUP = RigSetup(1.4, 0.55, Pad.BALL, Cover.WRAP, Fist.FIST, 180.0, Feet.SIDE_ON)
CONSENT = Consent(date(2026, 1, 10), "mother")

INES = Athlete(
    "1" * 32,
    "Ines Halloran",
    Stance.ORTHODOX,
    AgeGroup.ADULT,
    cares=frozenset({Care.WRIST}),
    note="Warm up slowly.",
    masses=(BodyMass(date(2026, 1, 5), 63.2), BodyMass(date(2026, 2, 5), 62.8)),
    groups=("Seniors",),
)
JUNO = Athlete(
    "2" * 32,
    "Juno Pettigrew",
    Stance.SOUTHPAW,
    AgeGroup.UNDER_18,
    2011,
    CONSENT,
)
UNDER_AGE = replace(JUNO, id="3" * 32, name="Zebulon Quillfeather", consent=None)


def session(turns: int = 10, number: int = 1) -> SessionRecord:
    return SessionRecord(
        id=f"{number:032x}",
        plan="speed-day",
        plan_text='name = "speed-day"\n',
        athletes=(JUNO.id, INES.id),
        turns=turns,
        started_at=START,
        group="Seniors",
        wall="left",
    )


def measures(peak_N: float | None, version: int = 1) -> dict[str, MeasureValue]:
    peak = MeasureValue(
        "peak_force", peak_N, "N", 2.0, 3.0, certificate="abc", dof=17.0, coverage=2.11
    )
    if peak_N is None:
        peak = replace(
            peak, u_own=None, u_common=None, status=Status.WITHHELD, reason="Not seen."
        )
    rise = MeasureValue("rfd_100", 900.0, "N/s", 90.0, 9.0, status=Status.COARSE, reason="Few.")
    return {one.name: replace(one, version=version) for one in (peak, rise)}


def rep(turn: int, peak_N: float | None = 800.0, version: int = 1) -> RepRecord:
    return RepRecord(
        session=session().id,
        turn=turn,
        athlete=INES.id,
        exercise="rear-straight",
        set_number=1,
        rep_number=turn,
        ended_at=datetime(2026, 3, 1, 17, 31, turn, 123456, tzinfo=UTC),
        hand=Hand.RIGHT,
        stance=Stance.ORTHODOX,
        setup=SETUP,
        prescription=Prescription(Effort.MAXIMAL, 3.0),
        rise="snap",
        hold="sagging",
        faults=("sagging", "over range"),
        sentence="Keep it stiff to the end.",
        detail="It fell by 7 % a second.",
        cue="hip first",
        certificate="abc",
        recording="2026-03-01.jsonl",
        start_s=12.5,
        end_s=16.0,
        go_s=12.3,
        measures=measures(peak_N, version),
    )


def files_with(folder: Path, words: bytes) -> list[str]:
    """Name the files below a folder that hold these bytes, in their name or inside."""
    return sorted(
        path.name
        for path in folder.rglob("*")
        if path.is_file() and (words in path.read_bytes() or words in path.name.encode())
    )
