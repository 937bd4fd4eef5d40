"""Whole reps with their set-ups and measures, in three queries and as plain rows.

A session of a hundred reps has two thousand measures. To make an object of the database's for
each takes five times as long as to read them, and a screen waits for it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from strikebridge.store.database import without_collecting
from strikebridge.store.models import MeasureRow, RepRow, RigSetupRow
from strikebridge.store.rows import MEASURE_COLUMNS, measure_from, rep_of, setup_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy import ColumnElement, Select
    from sqlalchemy.orm import Session

    from strikebridge.club.training import RepRecord
    from strikebridge.samples import MeasureValue

IN_TIME = (RepRow.ended_at, RepRow.id)
BY_TURN = (RepRow.turn, RepRow.attempt)


def whole_reps(
    at: Session,
    meant: Sequence[ColumnElement[bool]],
    order: Sequence[Any] = IN_TIME,
    limit: int | None = None,
) -> tuple[RepRecord, ...]:
    """Read reps with everything that belongs to them.

    Args:
        at: the transaction.
        meant: which reps.
        order: in which order.
        limit: how many of them, None for all.
    """
    with without_collecting():
        return _all_of(at, meant, order, limit)


def _all_of(
    at: Session,
    meant: Sequence[ColumnElement[bool]],
    order: Sequence[Any],
    limit: int | None,
) -> tuple[RepRecord, ...]:
    rows = at.execute(reps_query(meant, order, limit)).all()
    keys = sorted({row.setup_key for row in rows if row.setup_key is not None})
    setups = {}
    if keys:
        found = at.scalars(select(RigSetupRow).where(RigSetupRow.key.in_(keys)))
        setups = {row.key: setup_of(row) for row in found}
    measures: dict[int, list[MeasureValue]] = {}
    for row in at.execute(measures_query(meant, order, limit)):
        measures.setdefault(row[0], []).append(measure_from(row[1:]))
    return tuple(
        rep_of(
            row,
            None if row.setup_key is None else setups[row.setup_key],
            {one.name: one for one in measures.get(row.id, [])},
        )
        for row in rows
    )


def reps_query(
    meant: Sequence[ColumnElement[bool]], order: Sequence[Any], limit: int | None = None
) -> Select[*tuple[Any, ...]]:
    """Ask for reps without what belongs to them.

    Args:
        meant: which reps.
        order: in which order.
        limit: how many of them, None for all.
    """
    return select(*RepRow.__table__.columns).where(*meant).order_by(*order).limit(limit)


def measures_query(
    meant: Sequence[ColumnElement[bool]], order: Sequence[Any], limit: int | None = None
) -> Select[*tuple[Any, ...]]:
    """Ask for all measures of reps.

    Args:
        meant: which reps.
        order: of the reps, which matters with a limit.
        limit: how many reps, None for all.
    """
    columns = select(MeasureRow.rep_id, *MEASURE_COLUMNS)
    if limit is None:
        joined = columns.join(RepRow, RepRow.id == MeasureRow.rep_id).where(*meant)
    else:
        some = select(RepRow.id).where(*meant).order_by(*order).limit(limit).subquery()
        joined = columns.join(some, some.c.id == MeasureRow.rep_id)
    return joined.order_by(MeasureRow.rep_id, MeasureRow.place)
