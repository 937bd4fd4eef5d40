"""The name of a pressed key, as the tables of keys write it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent


def key_name(event: QKeyEvent) -> str:
    """Name the key of an event.

    Args:
        event: a key pressed.

    Returns:
        Such as `PgDown` or `Ctrl+Q`; shift and the key pad make no other key.
    """
    keypad = Qt.KeyboardModifier.KeypadModifier
    shift = Qt.KeyboardModifier.ShiftModifier
    pressed = event.keyCombination()
    return QKeySequence(
        Qt.Key(event.key())
        if pressed.keyboardModifiers() in (Qt.KeyboardModifier.NoModifier, keypad, shift)
        else pressed
    ).toString(QKeySequence.SequenceFormat.PortableText)
