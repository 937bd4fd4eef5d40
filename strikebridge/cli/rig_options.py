"""How wall and fist are set up, said on the command line."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, TypeVar

import click

from strikebridge.cli.options import FiniteRange
from strikebridge.club.rig_setup import Cover, Feet, Fist, Pad, RigSetup

if TYPE_CHECKING:
    from collections.abc import Callable

R = TypeVar("R")


def _words(kind: type[Pad | Cover | Fist | Feet]) -> click.Choice[str]:
    return click.Choice([one.value for one in kind])


def rig_options(command: Callable[..., R]) -> Callable[..., R]:
    """Add the set-up to a command, which gets it as one `rig_setup`.

    Args:
        command: takes `rig_setup`, a `RigSetup`, and its other parameters.

    Returns:
        The command with an option for each part of the set-up.
    """

    @functools.wraps(command)
    def with_setup(
        *,
        pad_height_m: float | None,
        distance_m: float | None,
        pad: str | None,
        cover: str | None,
        fist: str | None,
        elbow_deg: float | None,
        feet: str | None,
        **others: object,
    ) -> R:
        setup = RigSetup(
            pad_height_m=pad_height_m,
            distance_m=distance_m,
            pad=None if pad is None else Pad(pad),
            cover=None if cover is None else Cover(cover),
            fist=None if fist is None else Fist(fist),
            elbow_deg=elbow_deg,
            feet=None if feet is None else Feet(feet),
        )
        return command(rig_setup=setup, **others)

    for option in (
        click.option("--feet", type=_words(Feet), help="Stance at the start."),
        click.option("--elbow-deg", type=FiniteRange(30.0, 180.0), help="Angle of the elbow."),
        click.option("--fist", type=_words(Fist), help="How the hand meets the pad."),
        click.option("--cover", type=_words(Cover), help="What is on the hand."),
        click.option("--pad", type=_words(Pad), help="What is pushed against."),
        click.option("--distance-m", type=FiniteRange(0.1, 3.0), help="Pad to front toes."),
        click.option(
            "--pad-height-m", type=FiniteRange(0.3, 3.0), help="Floor to middle of the pad."
        ),
    ):
        with_setup = option(with_setup)
    return with_setup
