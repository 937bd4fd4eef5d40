"""A data folder of its own for each test."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from tests.safekeeping.made import fill

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with one of everything, made once."""
    folder = tmp_path_factory.mktemp("filled") / "data"
    fill(folder)
    return folder


@pytest.fixture
def data(filled: Path, tmp_path: Path) -> Path:
    """A copy of it for one test."""
    return shutil.copytree(filled, tmp_path / "data")
