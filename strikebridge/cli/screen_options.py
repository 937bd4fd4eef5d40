"""How a window opens and what it sounds like: options that its commands share."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import TYPE_CHECKING, ParamSpec, TypeVar

import click
from click.core import ParameterSource

from strikebridge.cli.options import FiniteRange, data_folder
from strikebridge.screens.app import WindowOptions
from strikebridge.screens.turned import turned_in
from strikebridge.sound.speaker import USUAL_VOLUME, Speaker

if TYPE_CHECKING:
    from collections.abc import Callable

P = ParamSpec("P")
R = TypeVar("R")


def screen_options(command: Callable[..., R]) -> Callable[..., R]:
    """Add the options of the window; the command gets them as one `screen` of WindowOptions."""

    @functools.wraps(command)
    def with_screen(
        *args: object,
        silent: bool,
        volume: float,
        sound_latency_ms: float,
        full_screen: bool,
        light: bool,
        **rest: object,
    ) -> R:
        speaker = None
        if not silent:
            speaker = Speaker(volume / 100.0, added_s=sound_latency_ms / 1000.0)
        scheme = "light" if light else "dark"
        data = rest.get("data")
        screen = WindowOptions(
            scheme,
            is_full_screen=full_screen,
            speaker=speaker,
            turned=turned_in(
                data_folder(data if isinstance(data, Path) else None),
                scheme_is_said=light,
                unit_is_said=_is_said("unit"),
            ),
        )
        return command(*args, screen=screen, **rest)

    wrapped: Callable[..., R] = with_screen
    for option in (
        click.option("--light", is_flag=True, help="Light scheme, for a bright room."),
        click.option("--full-screen", is_flag=True, help="Fill the screen."),
        click.option(
            "--sound-latency-ms",
            type=FiniteRange(0.0, 2000.0),
            default=0.0,
            help="What the loudspeaker adds, such as one on Bluetooth.",
        ),
        click.option(
            "--volume",
            type=FiniteRange(0.0, 100.0),
            default=100.0 * USUAL_VOLUME,
            help="Loudness of the tones, 0 to 100.",
        ),
        click.option("--silent", is_flag=True, help="No tones."),
    ):
        wrapped = option(wrapped)
    return wrapped


def _is_said(option: str) -> bool:
    """Say whether an option was typed, rather than left to its default."""
    source = click.get_current_context().get_parameter_source(option)
    return source is ParameterSource.COMMANDLINE
