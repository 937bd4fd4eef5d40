"""A database of its own for each test."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import pytest

from strikebridge.store.database import Store, open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from tests.store.made import DAY, INES, JUNO, session

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "data"


@pytest.fixture
def store(data: Path) -> Iterator[Store]:
    with contextlib.closing(open_store(data)) as opened:
        yield opened


@pytest.fixture
def roster(store: Store) -> Roster:
    return Roster(store, lambda: DAY)


@pytest.fixture
def history(store: Store) -> History:
    return History(store)


@pytest.fixture
def training(store: Store, roster: Roster) -> Training:
    """A session that has begun, with two athletes."""
    roster.add_all([INES, JUNO])
    begun = Training(store, lambda: DAY)
    begun.begin(session())
    return begun
