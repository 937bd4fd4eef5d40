"""Qt windows; widgets only, every number arrives in a Glance."""

from __future__ import annotations

SCREENS: dict[str, str] = {
    "review": "strikebridge.screens.review:ReviewScreen",
    "wall": "strikebridge.screens.wall:Wall",
}
"""Key of a screen -> its widget, which can be made without arguments."""
