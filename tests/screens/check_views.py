"""Views of real checks on an invented rig, one for each thing a window has to show."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import msgspec

from strikebridge.calibration.certificate import plain_certificate
from strikebridge.checks.check_run import CheckRun, CheckSetup
from strikebridge.checks.check_view import CheckKey, CheckState, CheckView
from strikebridge.checks.expected import UNCHECKED, Reference, plate_reference
from strikebridge.checks.judging import Past
from strikebridge.glance import Trouble
from tests.calibration.walk_scenes import Rig

CERTIFICATE = msgspec.structs.replace(
    plain_certificate(
        9.80665 / 21_474.8,
        84_000.0,
        made_at="2026-03-01T18:00:00+01:00",
        range_N=(0.0, 1000.0),
        u_relative=0.002,
    ),
    rating_N=1961.33,
)
PAST = Past((83_900.0,), (5.0,), 0.03)


def led(
    rig: Rig, reference: Reference, past: Past, bent_kg: float = 0.0
) -> dict[str, CheckView]:
    run = CheckRun(CheckSetup(CERTIFICATE, reference, past))
    seen: dict[str, CheckView] = {"begin": run.view()}
    while not run.has_ended:
        rig.hear(run.feed([rig.block(8)]))
        view = run.view()
        name = f"{view.state.value} {'taking' if view.taking_share else view.steadiness}"
        seen.setdefault(name, view)
        if view.taking_share:
            seen[name] = view
        if view.state is CheckState.BACK and bent_kg:
            rig.zero += bent_kg * rig.per_kg
            bent_kg = 0.0
    seen["done"] = run.view()
    return seen


@lru_cache(maxsize=1)
def check_views() -> dict[str, CheckView]:
    """Check often, with all that can go wrong."""
    plate = plate_reference(CERTIFICATE, 20.0, 0.2)
    seen = led(Rig(hand_s=2.0), plate, PAST)
    seen["gain moved"] = led(Rig(off_kg={99: 1.5}), plate, PAST)["done"]
    seen["far off"] = led(Rig(off_kg={99: -10.0}), plate, PAST)["done"]
    seen["zero moved"] = led(Rig(zero=184_000.0), UNCHECKED, PAST)["done"]
    seen["bent"] = led(Rig(), plate, PAST, bent_kg=0.4)["done"]
    seen["unchecked"] = led(Rig(noise=400.0), UNCHECKED, PAST)["done"]
    cancelled = CheckRun(CheckSetup(CERTIFICATE, plate))
    cancelled.press(CheckKey.CANCEL)
    seen["cancelled"] = cancelled.view()
    seen["lost"] = replace(
        seen["begin"],
        trouble=Trouble(
            "The board went quiet 7 s ago.",
            "Nothing is lost. Check the plug; I go on by myself.",
            7.0,
        ),
    )
    return seen
