"""The system's own viewer of a file, whichever it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QUrl
from PySide6.QtGui import QDesktopServices

if TYPE_CHECKING:
    from pathlib import Path


def open_in_viewer(file: Path) -> bool:
    """Open a file as a double click on it would.

    Args:
        file: the file.

    Returns:
        False where the system has nothing that opens it.
    """
    return QDesktopServices.openUrl(QUrl.fromLocalFile(str(file.absolute())))
