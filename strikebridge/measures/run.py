"""Every measure of one hold, each with its uncertainty or the reason why it is withheld."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.measures import ends, impulse, plateau, rise
from strikebridge.measures.coverage import coverage_factor
from strikebridge.measures.settings import DEFAULT_SETTINGS, MeasureSettings
from strikebridge.measures.table import DEFINITIONS, Definition, Outcome, Withheld
from strikebridge.measures.view import look
from strikebridge.samples import ForceBlock, MeasureValue, Status

if TYPE_CHECKING:
    from strikebridge.samples import Hold, Prescription

FAMILIES = [family.__name__ for family in (rise, impulse, plateau, ends)]
MEASURES: dict[str, Definition] = dict(
    sorted(DEFINITIONS.items(), key=lambda row: FAMILIES.index(row[1].evaluate.__module__))
)
"""Name -> definition, in the order of reports: by family, then as written in its file."""


def warm_up() -> None:
    """Load the special functions of the uncertainties, which takes a part of a second.

    They are imported on use, so that a window opens without them; whoever measures live calls
    this first, so that no hold waits for them.
    """
    import scipy.special  # noqa: F401, PLC0415 - that is the purpose


def measure_hold(
    hold: Hold, prescription: Prescription, settings: MeasureSettings = DEFAULT_SETTINGS
) -> dict[str, MeasureValue]:
    """Evaluate every measure of the table.

    Args:
        hold: the hold as the detector cut it out; at least one sample from onset to end.
        prescription: what was asked for.
        settings: limits of the definitions.

    Returns:
        Name -> value, always all names, in the order of the table.
    """
    view = look(hold, prescription, settings)
    return {
        name: _named(definition, definition.evaluate(view), hold.force)
        for name, definition in MEASURES.items()
    }


def _named(definition: Definition, outcome: Outcome, block: ForceBlock) -> MeasureValue:
    """Give an outcome its name, its coverage factor and its status."""
    if isinstance(outcome, Withheld):
        return MeasureValue(
            name=definition.name,
            value=None,
            unit=definition.unit,
            u_own=None,
            u_common=None,
            certificate=block.calibration,
            status=Status.WITHHELD,
            reason=outcome.reason,
            version=definition.version,
        )
    coverage, dof = coverage_factor(
        outcome.normal, outcome.rectangular, outcome.common, block.dof_common
    )
    # plain numbers: NumPy's own cannot be written into a recording or a database
    return MeasureValue(
        name=definition.name,
        value=float(outcome.value),
        unit=definition.unit,
        u_own=float(outcome.u_own),
        u_common=float(outcome.common),
        certificate=block.calibration,
        dof=float(dof),
        coverage=float(coverage),
        status=Status.COARSE if outcome.coarse else Status.OK,
        reason=outcome.coarse,
        version=definition.version,
    )
