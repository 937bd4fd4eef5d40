"""What a coach said once about a board's lines, kept in the data folder and used ever after.

A board on USB is known by what its plug says of itself (maker, product, serial number), so that
it may hang on another port next time; any other by its address without options. The file is
`boards.json`, plain and readable; erasing it forgets.
"""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import msgspec

from strikebridge.boards.address import ANY_SHAPE, parse_address
from strikebridge.boards.line_shape import parse_shape
from strikebridge.boards.serial_link import plug_at
from strikebridge.errors import FormatError, RecordingError
from strikebridge.private_files import open_private, private_folder

if TYPE_CHECKING:
    from pathlib import Path

FILE = "boards.json"
Shapes = dict[str, str]
_decode = msgspec.json.Decoder(Shapes).decode


def shape_of(address: str, shape: str, data: Path | None) -> str:
    """Say by which shape a board's lines are to be read.

    Args:
        address: address as the user wrote it; its option `shape` goes first.
        shape: what was asked for otherwise, `auto` for nothing.
        data: data folder, None to look nothing up.

    Returns:
        A shape for `make_decoder`; `auto` where nothing is known of the board.

    Raises:
        AddressError: the address cannot be read.
    """
    parsed = parse_address(address)
    if shape == ANY_SHAPE:
        shape = parsed.options.get("shape", ANY_SHAPE)
    if shape == ANY_SHAPE and data is not None and parsed.scheme == "serial":
        shape = _known(data).get(board_key(address), ANY_SHAPE)
        with contextlib.suppress(FormatError):
            return shape if "<" not in shape else str(parse_shape(shape))
        return ANY_SHAPE  # a hand was in the file
    return shape


def remember_shape(address: str, shape: str, data: Path) -> None:
    """Keep the shape of a board's lines.

    Args:
        address: address of the board.
        shape: its shape, `auto` to forget what was kept.
        data: data folder.

    Raises:
        RecordingError: the file cannot be written.
    """
    known = _known(data)
    known.pop(board_key(address), None)
    if shape != ANY_SHAPE:
        known[board_key(address)] = shape
    path = data / FILE
    fresh = path.with_suffix(".new")
    try:
        private_folder(data)
        with open_private(fresh, "wb") as file:
            file.write(msgspec.json.format(msgspec.json.encode(known)) + b"\n")
        fresh.replace(path)
    except OSError as error:
        raise RecordingError(f"{path} cannot be written: {error.strerror}.") from error


def board_key(address: str) -> str:
    """Name a board as well as it can be known before it speaks.

    Args:
        address: its address.

    Returns:
        What its plug says, or its address without options.
    """
    parsed = parse_address(address)
    plug = plug_at(parsed.path) if parsed.scheme == "serial" else None
    return f"{parsed.scheme}:{parsed.path}" if plug is None else plug.key


def _known(data: Path) -> Shapes:
    """Read what is known; a missing or damaged file knows nothing."""
    try:
        return _decode((data / FILE).read_bytes())
    except (OSError, msgspec.MsgspecError):
        return {}
