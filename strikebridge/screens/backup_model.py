"""What the page of a backup shows, decided without a window: what is copied, and how much."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.safekeeping.job import Doing
from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import Bar, Page, PageItem, with_words
from strikebridge.screens.items import Align
from strikebridge.screens.look import State
from strikebridge.screens.rig_layout import DETAIL_CAP, HEAD_CAP, KEYS_CAP, RigFrame

if TYPE_CHECKING:
    from strikebridge.safekeeping.job import Step

TELLS = {
    Doing.COPYING: "Copying",
    Doing.CHECKING: "Checking",
    Doing.READING_BACK: "Reading back",
    Doing.UNPACKING: "Unpacking",
}
BEGINNING = "The backup begins."
ENDING = "The backup is being broken off."
WHY = (
    "Everything is copied, then read back from the disk and compared. A session may run "
    "meanwhile. Broken off, it leaves no file behind, and what you have is untouched."
)
FOOTER = "B, Esc: break off      D: dark or daylight      F11: full screen"
TELL_CAP, SHARE_CAP = 0.052, 0.110


def backup_page(
    step: Step | None, size: tuple[float, float], *, is_ending: bool = False
) -> Page:
    """Decide the page.

    Args:
        step: how far it has come, None before its first step.
        size: width and height of the page [px].
        is_ending: True once it is being broken off.

    Returns:
        What is to be painted.
    """
    the = RigFrame(*size)
    share = 0.0 if step is None else step.share
    # a hundred only once it is done: the last bytes are still being looked at
    percent = f"{min(99, int(100.0 * share))} %"
    items: list[PageItem] = [
        parts.plain("Backup", the.head, the.cap(HEAD_CAP), is_quiet=True),
        parts.bold(_tell(step, is_ending=is_ending), the.box(0.16, 0.32), the.cap(TELL_CAP)),
        Bar(the.box(0.36, 0.43).on_pixels(), share, State.PUSH),
        parts.bold(percent, the.box(0.47, 0.62, 0.0, 0.30), the.cap(SHARE_CAP)),
        parts.plain(
            _much(step),
            the.box(0.47, 0.62, 0.32, 1.0),
            the.cap(DETAIL_CAP),
            align=Align.RIGHT,
        ),
        parts.plain(WHY, the.box(0.70, 0.86), the.cap(DETAIL_CAP), lines=3, is_quiet=True),
        parts.plain(FOOTER, the.keys, the.cap(KEYS_CAP), align=Align.CENTRE, is_quiet=True),
    ]
    return with_words(tuple(items))


def _tell(step: Step | None, *, is_ending: bool) -> str:
    if is_ending:
        return ENDING
    return BEGINNING if step is None else f"{TELLS[step.doing]} {step.name}"


def _much(step: Step | None) -> str:
    """Say how much is done, in a unit that does not jump while it runs."""
    if step is None:
        return ""
    unit, size = ("GB", 1e9) if step.total >= 1e9 else ("MB", 1e6)
    return f"{step.done / size:.1f} of {step.total / size:.1f} {unit} copied and read back"
