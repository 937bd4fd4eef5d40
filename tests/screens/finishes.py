"""Last pages of a calibration: one of an invented rig, and one where there is none."""

from __future__ import annotations

from strikebridge.calibration.plate_walk import PlateWalk
from strikebridge.calibration.walk_analysis import analyse_walk
from strikebridge.calibration.walk_setup import WalkSetup
from strikebridge.calibration.walk_view import WalkKey
from strikebridge.reports.calibration_words import advice_words, worth_words
from strikebridge.screens.finish_model import Finish
from strikebridge.units import ForceUnit
from tests.calibration.walk_scenes import PLATES, Rig, lead


def made() -> Finish:
    walk, rig = PlateWalk(WalkSetup(PLATES)), Rig(off_kg={1: 0.3})
    rig.hear(walk.press(WalkKey.NEXT))
    lead(walk, rig)
    result = analyse_walk(walk.walk_input())
    terms = result.terms_at(result.top_N)
    return Finish(
        {unit: worth_words(terms, result.top_N, unit) for unit in ForceUnit},
        result.budget(),
        advice_words(result.budget()),
        result.warnings,
        "Certificate 0123456789ab is kept, and the window and record take it by themselves for"
        " this board. Take the plates off, mount the rig, and zero it again.",
    )


FINISHES = {
    "good": made(),
    "failed": Finish(
        dict.fromkeys(
            ForceUnit,
            "The readings do not follow the loads (R squared 0.12). Check the wiring, and that"
            " the plates hang on the cell alone.",
        ),
        is_failed=True,
    ),
}
