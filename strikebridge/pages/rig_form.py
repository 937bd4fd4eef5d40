"""The set-up of wall and fist, and the cues: what the coach is asked and what is understood."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from strikebridge.club.entry import FieldFault
from strikebridge.club.rig_setup import Cover, Feet, Fist, Pad, RigSetup
from strikebridge.pages.sheet import Field, FieldKind, Form
from strikebridge.reports.progress_words import setup_words

if TYPE_CHECKING:
    from collections.abc import Mapping

E = TypeVar("E", bound=StrEnum)

MOST_CUES = 9  # one a key
LONGEST_CUE = 40
CUES_HINT = "your own, up to nine, with commas between; empty for ours"
HEIGHT_M, AWAY_M, ELBOW_DEG = (0.3, 3.0), (0.1, 3.0), (30.0, 180.0)


def rig_form(rig: RigSetup, cues: tuple[str, ...]) -> Form:
    """Ask for the set-up and the cues.

    Args:
        rig: as it is now.
        cues: as they are now, none for the program's own.
    """
    return Form(
        "How wall and fist are set up",
        "Bests count for one set-up only. What you leave empty is not noted.",
        (
            _typed(
                "height", "Pad height", "floor to its middle, in metres: 1.45", rig.pad_height_m
            ),
            _typed(
                "away", "Distance", "pad to the front toes, in metres: 0.60", rig.distance_m
            ),
            _one_of("pad", "Pad", "what is pushed against", Pad, rig.pad),
            _one_of("cover", "Hand", "what is on it", Cover, rig.cover),
            _one_of("fist", "Fist", "how the hand meets the pad", Fist, rig.fist),
            _typed("elbow", "Elbow", "in degrees, 180 for a straight arm", rig.elbow_deg),
            _one_of("feet", "Feet", "at the start", Feet, rig.feet),
            Field("cues", "Cues", CUES_HINT, value=", ".join(cues)),
        ),
    )


def rig_entry(
    fields: Mapping[str, str],
) -> tuple[RigSetup, tuple[str, ...], tuple[FieldFault, ...]]:
    """Understand a filled form.

    Args:
        fields: text by key of the field.

    Returns:
        The set-up, the cues, and what is wrong, each with its field.
    """
    faults: list[FieldFault] = []
    rig = RigSetup(
        pad_height_m=_between(fields, "height", HEIGHT_M, "m", faults),
        distance_m=_between(fields, "away", AWAY_M, "m", faults),
        pad=_chosen(fields, "pad", Pad),
        cover=_chosen(fields, "cover", Cover),
        fist=_chosen(fields, "fist", Fist),
        elbow_deg=_between(fields, "elbow", ELBOW_DEG, "degrees", faults),
        feet=_chosen(fields, "feet", Feet),
    )
    cues = tuple(cue for one in fields.get("cues", "").split(",") if (cue := one.strip()))
    if len(cues) > MOST_CUES:
        words = f"{len(cues)} cues are too many: each has a key, and there are {MOST_CUES}."
        faults.append(FieldFault("cues", words))
    faults += [
        FieldFault(
            "cues", f"'{cue}' is too long to be read at a glance: {LONGEST_CUE} letters."
        )
        for cue in cues
        if len(cue) > LONGEST_CUE
    ]
    return rig, cues, tuple(faults)


def rig_words(rig: RigSetup) -> str:
    """Say a set-up in a line.

    Args:
        rig: the set-up.
    """
    return setup_words(rig.key, {rig.key: rig})


def _one_of(key: str, label: str, hint: str, kind: type[E], now: E | None) -> Field:
    words = ("", *(one.value for one in kind))
    return Field(key, label, hint, FieldKind.CHOICE, words, "" if now is None else now.value)


def _chosen(fields: Mapping[str, str], key: str, kind: type[E]) -> E | None:
    text = fields.get(key, "")
    return kind(text) if text else None


def _typed(key: str, label: str, hint: str, now: float | None) -> Field:
    return Field(key, label, hint, value="" if now is None else f"{now:g}")


def _between(
    fields: Mapping[str, str],
    key: str,
    bounds: tuple[float, float],
    unit: str,
    faults: list[FieldFault],
) -> float | None:
    """Read a number; where it will not do, say so and give None."""
    text = fields.get(key, "").strip().replace(",", ".")
    if not text:
        return None
    low, high = bounds
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if low <= value <= high:
        return value
    faults.append(FieldFault(key, f"{low:g} to {high:g} {unit} is possible."))
    return None
