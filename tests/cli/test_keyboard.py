"""Every key of the tables is heard as a terminal or a Windows console sends it."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

import pytest

from strikebridge.cli.keyboard import MEANING, Keys, Pressed
from strikebridge.cli.session_keys import KNOWN

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator

pytestmark = pytest.mark.skipif(
    sys.platform == "win32", reason="a Windows console takes no keys from a pipe"
)


@pytest.fixture
def send() -> Iterator[Callable[[str], None]]:
    kept, (here, there) = os.dup(0), os.pipe()
    os.dup2(here, 0)

    def write(text: str) -> None:
        os.write(there, text.encode())

    yield write
    os.dup2(kept, 0)
    for one in (kept, here, there):
        os.close(one)


@pytest.mark.parametrize(
    ("sent", "meant"),
    [
        ("\x1b[6~", Pressed.NEXT),
        ("\xe0Q", Pressed.NEXT),  # _getch: 0xE0 0x51 is Page Down, 0xE0 0x49 is Page Up
        ("\x1b[5~", Pressed.REDO),
        ("\xe0I", Pressed.REDO),
        ("R", Pressed.REDO),
        ("B", Pressed.QUIT),
    ],
)
def test_a_key_means_the_same_in_capitals(
    send: Callable[[str], None], sent: str, meant: Pressed
) -> None:
    send(f"\x1b[A{sent}\xe0H")  # an arrow before it and behind it means nothing
    assert Keys().take() == [meant]


@pytest.mark.parametrize("known", [MEANING, KNOWN], ids=["rig", "session"])
def test_no_word_of_a_table_is_out_of_reach(
    send: Callable[[str], None], known: Collection[str]
) -> None:
    send("".join(known))
    assert Keys().words(known) == list(known)
