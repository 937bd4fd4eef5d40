"""Addresses of boards, and the way from an address to its link and from a shape to its decoder.

An address reads like a URL: `scheme:path?option=value&option=value`.

| address | means |
| --- | --- |
| `serial:/dev/ttyUSB0`, `serial:COM5?baud=115200` | a board on a serial port |
| `replay:session.jsonl?speed=4` | a recording, played as if live |
| `simulated:?rate_hz=80&seed=3` | an invented athlete on an invented board |
| `ble:C0:5E:00:00:00:01` | a Bluetooth scale or board that is connected to |
| `advert:C0:5E:00:00:00:02` | a Bluetooth scale or button that only advertises |

The path is taken literally: nothing is percent-decoded, because file names may hold any
character. Options begin at the last question mark, and only if what follows it looks like
options; a path that itself ends like options is written with one more question mark behind it.
"""

from __future__ import annotations

import importlib
import math
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, cast

from strikebridge.boards import BOARDS, LINKS
from strikebridge.boards.line_shape import parse_shape
from strikebridge.errors import AddressError, FormatError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.boards.link import Decoder, Link

ANY_SHAPE = "auto"
"""Name of the decoder that finds out the shape of the lines by itself."""

NEEDS_PATH = {"serial": True, "simulated": False}
"""Schemes that nothing else can be wrong with where there are no options; their links take a
tenth of a second to import, which a window that opens need not wait for."""

SCHEME = re.compile(r"[a-z]+")
OPTIONS = re.compile(r"(?:[a-z_]+=[^&?]*(?:&[a-z_]+=[^&?]*)*)?")


@dataclass(frozen=True, slots=True)
class Address:
    """A board's address, taken apart.

    Attributes:
        scheme: kind of link, a key of the table LINKS.
        path: port, file or radio address; empty where the scheme needs none.
        options: what stood behind the question mark, as text.
    """

    scheme: str
    path: str = ""
    options: Mapping[str, str] = field(default_factory=dict)

    # typing.override came with Python 3.12
    def __str__(self) -> str:  # type: ignore[explicit-override]
        options = "&".join(f"{name}={value}" for name, value in self.options.items())
        plain = f"{self.scheme}:{self.path}"
        if options:
            return f"{plain}?{options}"
        _, mark, rest = self.path.rpartition("?")
        return f"{plain}?" if mark and OPTIONS.fullmatch(rest) else plain

    def check_options(self, known: Sequence[str]) -> None:
        """Refuse options that the link does not know, so that a slip of the pen is seen.

        Args:
            known: names of all options of the link.

        Raises:
            AddressError: an option has another name.
        """
        for name in self.options:
            if name not in known:
                choice = ", ".join(known) if known else "none"
                raise AddressError(
                    f"'{name}' is no option of {self.scheme}: addresses; there are: {choice}.",
                    address=str(self),
                )

    def number(self, name: str, default: float, *, low: float, high: float) -> float:
        """Read an option as a number.

        Args:
            name: name of the option.
            default: value where it was not given.
            low: smallest value allowed.
            high: largest value allowed.

        Raises:
            AddressError: it is no number, or outside the limits.
        """
        text = self.options.get(name)
        if text is None:
            return default
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            raise AddressError(
                f"{name}={text} will not do in {self.scheme}: addresses; "
                f"write a number from {low:.10g} to {high:.10g}.",
                address=str(self),
            )
        return value

    def whole(self, name: str, default: int, *, low: int, high: int) -> int:
        """Read an option as a whole number.

        Args:
            name: name of the option.
            default: value where it was not given.
            low: smallest value allowed.
            high: largest value allowed.

        Raises:
            AddressError: it is no whole number, or outside the limits.
        """
        value = self.number(name, default, low=low, high=high)
        if value != int(value):
            raise AddressError(
                f"{name}={self.options[name]} will not do in {self.scheme}: addresses; "
                f"write a whole number from {low} to {high}.",
                address=str(self),
            )
        return int(value)

    def choice(self, name: str, default: str, *, words: Sequence[str]) -> str:
        """Read an option that is one of several words.

        Args:
            name: name of the option.
            default: value where it was not given.
            words: all words allowed.

        Raises:
            AddressError: it is another word.
        """
        text = self.options.get(name, default)
        if text not in words:
            raise AddressError(
                f"{name}={text} will not do in {self.scheme}: addresses; "
                f"write one of: {', '.join(words)}.",
                address=str(self),
            )
        return text


def parse_address(text: str) -> Address:
    """Take an address apart.

    Args:
        text: address as the user wrote it.

    Raises:
        AddressError: there is no scheme, or none of that name, or options that cannot be read.
    """
    scheme, colon, rest = text.partition(":")
    if not colon or not SCHEME.fullmatch(scheme):
        hint = f" If it is a serial port, write serial:{text}." if text else ""
        raise AddressError(
            f"'{text}' is no address of a board; it begins with one of: {_schemes()}.{hint}",
            address=text,
        )
    if scheme not in LINKS:
        raise AddressError(
            f"There is no way to a board called '{scheme}:'; use one of: {_schemes()}.",
            address=text,
        )
    path, mark, options = rest.rpartition("?")
    if not mark or not OPTIONS.fullmatch(options):
        return Address(scheme, rest)
    pairs = [part.partition("=") for part in options.split("&") if part]
    return Address(scheme, path, {name: value for name, _, value in pairs})


def _schemes() -> str:
    return ", ".join(f"{scheme}:" for scheme in LINKS)


def open_link(text: str) -> Link:
    """Make the link that an address names; it is not opened yet.

    Args:
        text: address as the user wrote it.

    Returns:
        A link; `await link.open(queue)` starts it.

    Raises:
        AddressError: the address cannot be read.
        ImportError: the module of that link cannot be imported (the cause as it stands).
    """
    address = parse_address(text)
    return cast("Link", _load(LINKS[address.scheme])(address))


def usable_address(text: str) -> Address:
    """Read an address, and let its link say what is wrong with it before anything is opened.

    Args:
        text: address as the user wrote it.

    Returns:
        Its parts.

    Raises:
        AddressError: the address cannot be read, or does not say what its link needs.
        RecordingError: it names a recording that cannot be read.
        ImportError: the module of that link cannot be imported (the cause as it stands).
    """
    address = parse_address(text)
    needs_path = NEEDS_PATH.get(address.scheme)
    if address.options or needs_path is None or needs_path is not bool(address.path):
        open_link(text)
    return address


def open_remote(text: str) -> Link:
    """Make the link to a Bluetooth button that serves as a remote; it is not opened yet.

    Args:
        text: address of the button, `advert:<address>`.

    Returns:
        A link that delivers presses and nothing else.

    Raises:
        AddressError: the address cannot be read, or is no button's.
    """
    address = parse_address(text)
    if address.scheme != "advert":
        raise AddressError(
            f"'{text}' is no remote; a remote is a Bluetooth button, advert:<address>.",
            address=text,
        )
    return cast("Link", _load(LINKS[address.scheme])(address, only_keys=True))


def make_decoder(shape: str = ANY_SHAPE) -> Decoder:
    """Make the decoder of a shape of lines.

    Args:
        shape: key of the table BOARDS, a described shape such as `<ms>,<count>`, or `auto` to
            find out from the lines themselves.

    Raises:
        FormatError: there is no such shape, or its description cannot be read.
        ImportError: the module of that decoder cannot be imported (the cause as it stands).
    """
    if shape == ANY_SHAPE:
        return cast("Decoder", _load("strikebridge.boards.shape_finder:ShapeFinder")())
    if "<" in shape:
        place = "strikebridge.boards.described_lines:DescribedLinesDecoder"
        return cast("Decoder", _load(place)(parse_shape(shape)))
    if shape not in BOARDS:
        words = ", ".join([ANY_SHAPE, *BOARDS])
        raise FormatError(f"There is no line shape '{shape}'; use one of: {words}.")
    return cast("Decoder", _load(BOARDS[shape])())


def _load(place: str) -> type:
    """Import the class that a row of a table names as `module:Class`."""
    module, _, name = place.partition(":")
    return cast("type", getattr(importlib.import_module(module), name))
