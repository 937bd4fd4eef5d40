"""Qt windows: widgets that paint, and beside them, without Qt, what decides what."""

from __future__ import annotations

SCREENS: dict[str, str] = {
    "coach": "strikebridge.screens.coach:CoachPage",
    "page": "strikebridge.screens.page:PageWidget",
    "review": "strikebridge.screens.review:ReviewScreen",
    "wall": "strikebridge.screens.wall:Wall",
}
"""Key of a screen -> its widget, which can be made without arguments and has `set_scheme`."""
