"""A certificate with everything in it, and variants of it."""

from __future__ import annotations

import msgspec

from strikebridge.calibration.certificate import (
    BudgetTerm,
    Cell,
    Certificate,
    PlateRecord,
    PointRecord,
)

MADE_AT = "2026-03-01T18:30:00+01:00"


def full_certificate() -> Certificate:
    return Certificate(
        made_at=MADE_AT,
        made_by="coach",
        board="sketch 1.0",
        address="serial:/dev/ttyUSB0",
        cells=(
            Cell((8021.0, 212.5, -1e-3), ((4.0, 0, 0), (0, 1e-4, 0), (0, 0, 1e-12)), 12.5, 9.0),
        ),
        range_N=(0.0, 785.0),
        rating_N=1961.33,
        u_relative=0.0115,
        u_shape_N=0.4,
        dof_common=30.0,
        plates=(PlateRecord("A", 20.0, 0.4, "iron"),),
        points=(PointRecord(196.1, (49_692.0,), ("A",), "up", 1),),
        budget=(BudgetTerm("plates", 9.0, shape="rectangular"),),
        note="hung from the rack – slowly",
    )


def with_field(**changed: object) -> Certificate:
    return msgspec.structs.replace(full_certificate(), **changed)


def with_cell(**changed: object) -> Certificate:
    cell = msgspec.structs.replace(full_certificate().cells[0], **changed)
    return with_field(cells=(cell,))
