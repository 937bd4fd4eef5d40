"""Collect garbage between two paints, so that no line on its way to the screen waits for it.

Python collects when so many objects have been made, and most are made while a line is worked
on. Here it is done right after a paint, when the next line is still to come. What the program
itself is made of is set aside once it is all loaded: it would be gone through each time, and
none of it is ever let go. A window that is never painted falls back on Python's own way, at a
higher limit.
"""

from __future__ import annotations

import gc

from PySide6.QtCore import QObject, QTimer

YOUNG = 500  # objects made since the last time, from which on it pays to collect
PER_MIDDLE = 10  # paints with a collection, of which one looks at what outlived the others
PER_FULL = 200  # and one at everything that was not set aside
FALLBACK = 50_000
LOADED_MS = 3000  # after the first paints; by then the rest has been loaded behind them


class Tidying(QObject):
    """Collect for one window, from when it opens until `end`."""

    def __init__(self, parent: QObject) -> None:
        """Take the collecting over.

        Args:
            parent: the window.
        """
        super().__init__(parent)
        self._done = 0
        self._usual = gc.get_threshold()
        gc.set_threshold(FALLBACK, *self._usual[1:])
        self._loaded = QTimer(self)
        self._loaded.setSingleShot(True)
        self._loaded.setInterval(LOADED_MS)
        self._loaded.timeout.connect(gc.freeze)
        self._loaded.start()

    def after_paint(self) -> None:
        """Collect if there is enough to collect."""
        if gc.get_count()[0] < YOUNG:
            return
        self._done += 1
        generation = 0
        if self._done % PER_FULL == 0 and not self._loaded.isActive():
            generation = 2
        elif self._done % PER_MIDDLE == 0:
            generation = 1
        gc.collect(generation)

    def end(self) -> None:
        """Give the collecting back to Python."""
        self._loaded.stop()
        gc.unfreeze()
        gc.set_threshold(*self._usual)
