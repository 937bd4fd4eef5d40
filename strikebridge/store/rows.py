"""Rows into the values of the club, and back."""

from __future__ import annotations

import math
from datetime import timedelta, timezone
from typing import TYPE_CHECKING, Any, TypeVar

from strikebridge.club.athlete import (
    AgeGroup,
    Athlete,
    BodyMass,
    Care,
    Consent,
    Hand,
    Stance,
)
from strikebridge.club.exercise import Way
from strikebridge.club.rig_setup import Cover, Feet, Fist, Pad, RigSetup
from strikebridge.club.training import ClosedTurn, Closing, CueRecord, RepRecord, SessionRecord
from strikebridge.samples import Effort, MeasureValue, Prescription, Status
from strikebridge.store.models import (
    AthleteRow,
    ClosedTurnRow,
    CueRow,
    MeasureRow,
    RepRow,
    RigSetupRow,
    SessionAthleteRow,
    SessionRow,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from datetime import date

    from sqlalchemy import Row
    from sqlalchemy.orm import InstrumentedAttribute

MEASURE_COLUMNS = (
    MeasureRow.name,
    MeasureRow.value,
    MeasureRow.unit,
    MeasureRow.u_own,
    MeasureRow.u_common,
    MeasureRow.certificate,
    MeasureRow.dof,
    MeasureRow.coverage,
    MeasureRow.status,
    MeasureRow.reason,
    MeasureRow.version,
)
PEAK = "peak_force"
"""The measure that stands beside the rep as well."""
STATUSES = {status.value: status for status in Status}
"""Stored word -> status; a table is much quicker than the call of an enumeration."""

V = TypeVar("V")
R = TypeVar("R")

_BETWEEN_FAULTS = ","  # no word of the verdict has one


def athlete_of(row: AthleteRow) -> Athlete:
    """Make the value of an athlete's row.

    Args:
        row: with its masses, cares and groups.
    """
    return athlete_from(
        row,
        [(one.weighed_on, one.mass_kg) for one in row.masses],
        [one.care for one in row.cares],
        [one.name for one in row.groups],
    )


def athlete_from(
    row: AthleteRow | Row[*tuple[Any, ...]],
    masses: Iterable[tuple[date, float]],
    cares: Iterable[str],
    groups: Iterable[str],
) -> Athlete:
    """Make an athlete of a row and of what belongs to it.

    Args:
        row: all columns of `AthleteRow`.
        masses: day and body mass [kg] of each weighing.
        cares: what to be reminded of.
        groups: names of groups.
    """
    consent = None
    if row.consent_on is not None:
        consent = Consent(row.consent_on, row.consent_by or "")
    return Athlete(
        id=row.id,
        name=row.name,
        stance=Stance(row.stance),
        age_group=AgeGroup(row.age_group),
        born_year=row.born_year,
        consent=consent,
        cares=frozenset(Care(one) for one in cares),
        note=row.note,
        masses=tuple(BodyMass(*one) for one in sorted(masses)),
        groups=tuple(sorted(groups)),
    )


def session_row(session: SessionRecord) -> SessionRow:
    """Make the row of a session.

    Args:
        session: the session.
    """
    offset = session.started_at.utcoffset() or timedelta()
    return SessionRow(
        id=session.id,
        plan=session.plan,
        plan_text=session.plan_text,
        turns=session.turns,
        started_at=session.started_at,
        ended_at=session.ended_at,
        utc_offset_s=round(offset.total_seconds()),
        training_group=session.group,
        wall=session.wall,
        athletes=[
            SessionAthleteRow(place=place, athlete_id=athlete)
            for place, athlete in enumerate(session.athletes, start=1)
        ],
    )


def session_of(row: SessionRow) -> SessionRecord:
    """Make the value of a session's row; its moments are those of its own day.

    Args:
        row: with its athletes.
    """
    zone = timezone(timedelta(seconds=row.utc_offset_s))
    return SessionRecord(
        id=row.id,
        plan=row.plan,
        plan_text=row.plan_text,
        athletes=tuple(one.athlete_id for one in row.athletes),
        turns=row.turns,
        started_at=row.started_at.astimezone(zone),
        ended_at=_at(row.ended_at, lambda moment: moment.astimezone(zone)),
        group=row.training_group,
        wall=row.wall,
    )


def setup_row(setup: RigSetup) -> RigSetupRow:
    """Make the row of a set-up.

    Args:
        setup: the set-up.
    """
    return RigSetupRow(
        key=setup.key,
        pad_height_m=setup.pad_height_m,
        distance_m=setup.distance_m,
        pad=_at(setup.pad, str),
        cover=_at(setup.cover, str),
        fist=_at(setup.fist, str),
        elbow_deg=setup.elbow_deg,
        feet=_at(setup.feet, str),
    )


def setup_of(row: RigSetupRow) -> RigSetup:
    """Make the value of a set-up's row.

    Args:
        row: the row.
    """
    return RigSetup(
        pad_height_m=row.pad_height_m,
        distance_m=row.distance_m,
        pad=_at(row.pad, Pad),
        cover=_at(row.cover, Cover),
        fist=_at(row.fist, Fist),
        elbow_deg=row.elbow_deg,
        feet=_at(row.feet, Feet),
    )


def rep_row(rep: RepRecord) -> RepRow:
    """Make the row of a rep with its measures; the set-up itself is a row of its own.

    Args:
        rep: the rep.
    """
    band_N = rep.prescription.band_N or (None, None)
    return RepRow(
        session_id=rep.session,
        turn=rep.turn,
        attempt=rep.attempt,
        athlete_id=rep.athlete,
        exercise=rep.exercise,
        hand=_at(rep.hand, str),
        stance=_at(rep.stance, str),
        setup_key=None if rep.setup is None else rep.setup.key,
        set_number=rep.set_number,
        rep_number=rep.rep_number,
        effort=rep.prescription.effort.value,
        hold_s=rep.prescription.hold_s,
        band_low_N=band_N[0],
        band_high_N=band_N[1],
        way=rep.way.value,
        is_kept=rep.is_kept,
        rise=rep.rise,
        hold=rep.hold,
        faults=_BETWEEN_FAULTS.join(rep.faults),
        sentence=rep.sentence,
        detail=rep.detail,
        cue=rep.cue,
        certificate=rep.certificate,
        recording=rep.recording,
        start_s=rep.start_s,
        end_s=rep.end_s,
        go_s=rep.go_s,
        ended_at=rep.ended_at,
        peak_N=_plain(_at(rep.measures.get(PEAK), lambda one: one.value)),
        measures=[
            _measure_row(place, value)
            for place, value in enumerate(rep.measures.values(), start=1)
        ],
    )


def rep_of(
    row: Row[*tuple[Any, ...]],
    setup: RigSetup | None,
    measures: Mapping[str, MeasureValue],
) -> RepRecord:
    """Make the value of a rep's row.

    Args:
        row: all columns of `RepRow`.
        setup: its set-up.
        measures: its measures by name.
    """
    band_N = None
    if row.band_low_N is not None and row.band_high_N is not None:
        band_N = (row.band_low_N, row.band_high_N)
    return RepRecord(
        session=row.session_id,
        turn=row.turn,
        athlete=row.athlete_id,
        exercise=row.exercise,
        set_number=row.set_number,
        rep_number=row.rep_number,
        ended_at=row.ended_at,
        attempt=row.attempt,
        hand=_at(row.hand, Hand),
        stance=_at(row.stance, Stance),
        setup=setup,
        prescription=Prescription(Effort(row.effort), row.hold_s, band_N),
        way=Way(row.way),
        is_kept=row.is_kept,
        rise=row.rise,
        hold=row.hold,
        faults=tuple(row.faults.split(_BETWEEN_FAULTS)) if row.faults else (),
        sentence=row.sentence,
        detail=row.detail,
        cue=row.cue,
        certificate=row.certificate,
        recording=row.recording,
        start_s=row.start_s,
        end_s=row.end_s,
        go_s=row.go_s,
        measures=measures,
    )


def measure_of(row: MeasureRow) -> MeasureValue:
    """Make the value of a measure's row.

    Args:
        row: the row.
    """
    return measure_from(tuple(getattr(row, column.key) for column in MEASURE_COLUMNS))


def measure_from(cells: Sequence[Any]) -> MeasureValue:
    """Make a measure of plain cells; by their places, for there may be ten thousand of them.

    Args:
        cells: those of `MEASURE_COLUMNS`.
    """
    (
        name,
        value,
        unit,
        u_own,
        u_common,
        certificate,
        dof,
        coverage,
        status,
        reason,
        version,
    ) = cells
    return MeasureValue(
        name,
        value,
        unit,
        u_own,
        u_common,
        certificate,
        math.inf if dof is None else dof,
        coverage,
        STATUSES[status],
        reason,
        version,
    )


def value_of(measure: str) -> InstrumentedAttribute[float | None]:
    """Say where the value of a measure is looked for: beside the rep, where an index has it.

    Args:
        measure: name of the measure.
    """
    return RepRow.peak_N if measure == PEAK else MeasureRow.value


def cue_of(row: CueRow) -> CueRecord:
    """Make the value of a cue's row.

    Args:
        row: the row.
    """
    return CueRecord(row.session_id, row.athlete_id, row.given_at, row.cue, row.turn)


def closed_of(row: ClosedTurnRow) -> ClosedTurn:
    """Make a closed turn of its row.

    Args:
        row: its row.
    """
    return ClosedTurn(
        row.session_id, row.turn, row.athlete_id, row.exercise, Closing(row.why), row.closed_at
    )


def _measure_row(place: int, value: MeasureValue) -> MeasureRow:
    return MeasureRow(
        name=value.name,
        place=place,
        version=value.version,
        value=_plain(value.value),
        unit=value.unit,
        u_own=_plain(value.u_own),
        u_common=_plain(value.u_common),
        certificate=value.certificate,
        dof=value.dof if math.isfinite(value.dof) else None,
        coverage=float(value.coverage),
        status=value.status.value,
        reason=value.reason,
    )


def _plain(value: float | None) -> float | None:
    """Turn a number of NumPy's into one that every driver knows."""
    return None if value is None else float(value)


def _at(value: V | None, make: Callable[[V], R]) -> R | None:
    """Make something of a value that may be missing."""
    return None if value is None else make(value)
