"""What holds for every test: none needs a screen, none sees the user's data."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test sees or leaves anything in the data folder of whoever runs it."""
    folder = tmp_path / "user-data"
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_, **__: folder)
