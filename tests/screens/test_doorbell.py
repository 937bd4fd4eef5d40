from __future__ import annotations

import contextlib
import socket
import threading
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QObject

from strikebridge.screens.window import Doorbell

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot

pytestmark = pytest.mark.screen


@pytest.fixture
def heard() -> list[int]:
    return []


@pytest.fixture
def bell(qtbot: QtBot, heard: list[int]) -> Iterator[Doorbell]:
    parent = QObject()
    made = Doorbell(parent, lambda: heard.append(1))
    yield made
    made.close()


def over_tcp() -> tuple[socket.socket, socket.socket]:
    """Make a pair as Python does on Windows."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        there = socket.create_connection(server.getsockname())
        here, _ = server.accept()
    return here, there


def test_all_rings_since_it_was_last_heard_are_one(
    qtbot: QtBot, bell: Doorbell, heard: list[int]
) -> None:
    threads = [threading.Thread(target=bell.ring) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    qtbot.waitUntil(lambda: bool(heard))
    bell.ring()
    qtbot.waitUntil(lambda: len(heard) > 1)
    assert heard == [1, 1]


def test_nobody_waits_for_a_bell_that_is_not_heard(
    qtbot: QtBot, bell: Doorbell, heard: list[int]
) -> None:
    with contextlib.suppress(BlockingIOError):  # until it is full
        while True:
            bell._there.send(bytes(4096))
    bell.ring()
    assert heard == []
    qtbot.waitUntil(lambda: bool(heard))


def test_a_closed_bell_is_rung_in_vain(bell: Doorbell, heard: list[int]) -> None:
    bell.ring()
    bell.close()
    bell.ring()
    bell._ring_heard()
    bell.is_open = True  # as a thread saw it that had just begun to ring
    bell.ring()
    bell.close()
    assert heard == []


def test_no_ring_waits_for_the_one_before_it_over_tcp(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(socket, "socketpair", over_tcp)
    heard: list[int] = []
    parent = QObject()
    bell = Doorbell(parent, lambda: heard.append(1))
    try:
        assert bell._there.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
        bell.ring()
        qtbot.waitUntil(lambda: bool(heard))
    finally:
        bell.close()
