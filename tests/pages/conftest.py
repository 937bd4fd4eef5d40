"""A database of its own for each test of a page."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import pytest

from strikebridge.store.database import Store, open_store
from strikebridge.store.roster import Roster

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with contextlib.closing(open_store(tmp_path)) as opened:
        yield opened


@pytest.fixture
def roster(store: Store) -> Roster:
    return Roster(store)
