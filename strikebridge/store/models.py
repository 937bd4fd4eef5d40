"""The tables. A change here needs a step in `migrations` and a new dump beside its tests.

Names and notes stand in `athlete` and nowhere else, so that erasing somebody is one matter.
Moments are UTC; a session keeps the offset of its day as well. What is infinite or unknown is
NULL. Nothing is particular to SQLite but hints that other databases pass over.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Date,
    DateTime,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    String,
    Text,
    TypeDecorator,
    UniqueConstraint,
    text,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship
from typing_extensions import override

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Dialect


class Moment(TypeDecorator[datetime]):
    """A moment with its zone on this side, UTC without one on the other."""

    impl = DateTime
    cache_ok = True

    @override
    def process_bind_param(self, value: datetime | None, dialect: object) -> datetime | None:
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    @override
    def process_result_value(self, value: datetime | None, dialect: object) -> datetime | None:
        return None if value is None else value.replace(tzinfo=UTC)

    @override
    def result_processor(
        self, dialect: Dialect, coltype: object
    ) -> Callable[[Any], datetime | None] | None:
        """Read what SQLite keeps, a text, in one step; there may be ten thousand of them."""
        if dialect.name != "sqlite":
            return super().result_processor(dialect, coltype)
        return lambda text: None if text is None else datetime.fromisoformat(f"{text}+00:00")


class Base(DeclarativeBase):
    """What all tables share."""

    type_annotation_map = {  # noqa: RUF012 - SQLAlchemy reads it from the class
        str: String,
        float: Float,
        int: Integer,
        bool: Boolean,
        date: Date,
        datetime: Moment,
    }


class SchemaRow(Base):
    """Which shape the tables have; one row."""

    __tablename__ = "schema_version"

    version: Mapped[int] = mapped_column(primary_key=True)


class AthleteRow(Base):
    """An athlete."""

    __tablename__ = "athlete"

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(unique=True)
    stance: Mapped[str]
    age_group: Mapped[str]
    born_year: Mapped[int | None]
    consent_on: Mapped[date | None]
    consent_by: Mapped[str | None]
    note: Mapped[str] = mapped_column(Text)

    masses: Mapped[list[BodyMassRow]] = relationship(
        order_by="BodyMassRow.weighed_on", cascade="all, delete-orphan"
    )
    cares: Mapped[list[CareRow]] = relationship(cascade="all, delete-orphan")
    groups: Mapped[list[GroupRow]] = relationship(
        secondary="membership", back_populates="athletes"
    )


class BodyMassRow(Base):
    """One weighing."""

    __tablename__ = "body_mass"

    athlete_id: Mapped[str] = mapped_column(ForeignKey("athlete.id"), primary_key=True)
    weighed_on: Mapped[date] = mapped_column(primary_key=True)
    mass_kg: Mapped[float]


class CareRow(Base):
    """What to be reminded of."""

    __tablename__ = "care"

    athlete_id: Mapped[str] = mapped_column(ForeignKey("athlete.id"), primary_key=True)
    care: Mapped[str] = mapped_column(primary_key=True)


class GroupRow(Base):
    """A group."""

    __tablename__ = "training_group"  # GROUP is a word of SQL

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(unique=True)

    athletes: Mapped[list[AthleteRow]] = relationship(
        secondary="membership", back_populates="groups"
    )


class MembershipRow(Base):
    """Who is in which group."""

    __tablename__ = "membership"

    group_id: Mapped[int] = mapped_column(ForeignKey("training_group.id"), primary_key=True)
    athlete_id: Mapped[str] = mapped_column(
        ForeignKey("athlete.id"), primary_key=True, index=True
    )


class ExerciseRow(Base):
    """An exercise of the coach's own."""

    __tablename__ = "own_exercise"

    key: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    way: Mapped[str]
    side: Mapped[str | None]
    arm: Mapped[str | None]


class RigSetupRow(Base):
    """One set-up; never changed."""

    __tablename__ = "rig_setup"

    key: Mapped[str] = mapped_column(primary_key=True)
    pad_height_m: Mapped[float | None]
    distance_m: Mapped[float | None]
    pad: Mapped[str | None]
    cover: Mapped[str | None]
    fist: Mapped[str | None]
    elbow_deg: Mapped[float | None]
    feet: Mapped[str | None]


class SessionRow(Base):
    """A session."""

    __tablename__ = "session"

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    plan: Mapped[str]
    plan_text: Mapped[str] = mapped_column(Text)
    turns: Mapped[int]
    started_at: Mapped[datetime] = mapped_column(index=True)
    ended_at: Mapped[datetime | None]
    utc_offset_s: Mapped[int]
    training_group: Mapped[str]
    wall: Mapped[str]

    athletes: Mapped[list[SessionAthleteRow]] = relationship(
        order_by="SessionAthleteRow.place", cascade="all, delete-orphan"
    )


class SessionAthleteRow(Base):
    """Who takes part, in the order of the session."""

    __tablename__ = "session_athlete"

    session_id: Mapped[str] = mapped_column(ForeignKey("session.id"), primary_key=True)
    place: Mapped[int] = mapped_column(primary_key=True)
    athlete_id: Mapped[str] = mapped_column(ForeignKey("athlete.id"), index=True)


class RepRow(Base):
    """One attempt at one turn."""

    __tablename__ = "rep"
    __table_args__ = (
        UniqueConstraint("session_id", "turn", "attempt", name="one_row_an_attempt"),
        Index(
            "one_kept_a_turn",
            "session_id",
            "turn",
            unique=True,
            sqlite_where=text("is_kept"),
            postgresql_where=text("is_kept"),
        ),
        Index("alike", "athlete_id", "exercise", "hand", "setup_key", "ended_at"),
        Index(
            "best",
            *("athlete_id", "exercise", "hand", "setup_key", "effort", "peak_N"),
            # for who asks of the peak alone: in its order, the days are all over the file
            sqlite_where=text('"peak_N" IS NOT NULL'),
            postgresql_where=text('"peak_N" IS NOT NULL'),
        ),
        Index("of_everybody", "exercise", "ended_at"),
        Index("of_one", "athlete_id", "ended_at"),
        CheckConstraint("turn >= 1 AND attempt >= 1", name="counted_from_one"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[str] = mapped_column(ForeignKey("session.id"))
    turn: Mapped[int]
    attempt: Mapped[int]
    athlete_id: Mapped[str] = mapped_column(ForeignKey("athlete.id"))
    exercise: Mapped[str]
    hand: Mapped[str | None]
    stance: Mapped[str | None]
    setup_key: Mapped[str | None] = mapped_column(ForeignKey("rig_setup.key"))
    set_number: Mapped[int]
    rep_number: Mapped[int]
    effort: Mapped[str]
    hold_s: Mapped[float | None]
    band_low_N: Mapped[float | None]
    band_high_N: Mapped[float | None]
    way: Mapped[str]
    is_kept: Mapped[bool]
    rise: Mapped[str]
    hold: Mapped[str]
    faults: Mapped[str]
    sentence: Mapped[str] = mapped_column(Text)
    detail: Mapped[str] = mapped_column(Text)
    cue: Mapped[str]
    certificate: Mapped[str | None]
    recording: Mapped[str | None]
    start_s: Mapped[float | None]
    end_s: Mapped[float | None]
    go_s: Mapped[float | None]
    ended_at: Mapped[datetime]
    # peak force once more [N], so that an index leads to the best of ten years
    peak_N: Mapped[float | None]

    setup: Mapped[RigSetupRow | None] = relationship()
    measures: Mapped[list[MeasureRow]] = relationship(
        cascade="all, delete-orphan", order_by="MeasureRow.place"
    )


class MeasureRow(Base):
    """One measure of one rep; the key is the table's own order, for its size."""

    __tablename__ = "measure"
    __table_args__ = ({"sqlite_with_rowid": False},)

    rep_id: Mapped[int] = mapped_column(ForeignKey("rep.id"), primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)
    place: Mapped[int]
    version: Mapped[int]
    value: Mapped[float | None]
    unit: Mapped[str]
    u_own: Mapped[float | None]
    u_common: Mapped[float | None]
    certificate: Mapped[str | None]
    dof: Mapped[float | None]
    coverage: Mapped[float]
    status: Mapped[str]
    reason: Mapped[str]


class ClosedTurnRow(Base):
    """A turn that is over without a rep that counts; below zero what was taken back later."""

    __tablename__ = "closed_turn"

    session_id: Mapped[str] = mapped_column(ForeignKey("session.id"), primary_key=True)
    turn: Mapped[int] = mapped_column(primary_key=True)
    athlete_id: Mapped[str] = mapped_column(ForeignKey("athlete.id"), index=True)
    exercise: Mapped[str]
    why: Mapped[str]
    closed_at: Mapped[datetime]


class CueRow(Base):
    """One cue; the same one at the same moment is the same."""

    __tablename__ = "cue"
    __table_args__ = (
        ForeignKeyConstraint(["session_id"], ["session.id"]),
        ForeignKeyConstraint(["athlete_id"], ["athlete.id"]),
    )

    session_id: Mapped[str] = mapped_column(primary_key=True)
    given_at: Mapped[datetime] = mapped_column(primary_key=True)
    athlete_id: Mapped[str] = mapped_column(primary_key=True, index=True)
    cue: Mapped[str] = mapped_column(primary_key=True)
    turn: Mapped[int]
