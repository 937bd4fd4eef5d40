"""Parts that the pages of a walk and of a check share: head, orders, live reading, footer."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from strikebridge.screens.figure import Bar, PageItem
from strikebridge.screens.items import Align, Box, Number, Words
from strikebridge.screens.look import State
from strikebridge.screens.rig_keys import footer
from strikebridge.screens.rig_layout import (
    DETAIL_CAP,
    HEAD_CAP,
    KEYS_CAP,
    NUMBER_CAP,
    SMALL_CAP,
    TELL_CAP,
    WORD_CAP,
    RigFrame,
)
from strikebridge.screens.wall_words import TIE

if TYPE_CHECKING:
    from collections.abc import Collection

    from strikebridge.glance import Trouble
    from strikebridge.screens.keys import Own

UNIT = r"(?:kg|N|lb|%)(?!\w)"
AMOUNT = re.compile(rf"(?:[+-]?[0-9.]+ )?± [0-9.]+(?: {UNIT})?|[0-9][0-9.]* {UNIT}")


def tied(text: str) -> str:
    """Keep a number, its ± and its unit on one line.

    Args:
        text: words with spaces.

    Returns:
        The same with spaces at which no line is broken there.
    """
    return AMOUNT.sub(lambda found: found[0].replace(" ", TIE), text)


def plain(
    words: str,
    box: Box,
    cap_px: float,
    *,
    lines: int = 1,
    align: Align = Align.LEFT,
    is_quiet: bool = False,
) -> Words:
    """Make words in the lighter face.

    Args:
        words: what to say.
        box: where [px].
        cap_px: height of a capital if there is room enough [px].
        lines: most lines.
        align: where in the box.
        is_quiet: in the quieter ink.
    """
    return Words(tied(words), box, cap_px, align, lines, is_quiet, is_bold=False)


def bold(words: str, box: Box, cap_px: float, *, lines: int = 1) -> Words:
    """Make words in the heavy face.

    Args:
        words: what to say.
        box: where [px].
        cap_px: height of a capital if there is room enough [px].
        lines: most lines.
    """
    return Words(tied(words), box, cap_px, lines=lines)


def head(title: str, right: str, share: float, the: RigFrame) -> list[PageItem]:
    """Say what this page is and how far one has come.

    Args:
        title: what the page is.
        right: the step, in words.
        share: how many of the steps are done, 0 to 1.
        the: the frame.
    """
    return [
        plain(title, the.head, the.cap(HEAD_CAP), is_quiet=True),
        plain(right, the.head_right, the.cap(HEAD_CAP), align=Align.RIGHT, is_quiet=True),
        Bar(the.progress, share, State.REST),
    ]


def orders(what: str, why: str, the: RigFrame) -> list[PageItem]:
    """Say what to do now, biggest, and why.

    Args:
        what: one sentence.
        why: what to mind, may be empty.
        the: the frame.
    """
    return [
        bold(what, the.tell, the.cap(TELL_CAP), lines=2),
        plain(why, the.detail, the.cap(DETAIL_CAP), lines=2),
    ]


def reminders(what: str, words: str, the: RigFrame) -> list[PageItem]:
    """Say what to mind before it begins.

    Args:
        what: what to do first, one sentence.
        words: what to mind, some sentences.
        the: the frame.
    """
    return [
        bold(what, the.tell, the.cap(TELL_CAP), lines=2),
        plain(words, the.box(0.40, 0.86), the.cap(0.046), lines=6),
    ]


def trouble(what: Trouble, the: RigFrame) -> list[PageItem]:
    """Say what is wrong, in place of everything else.

    Args:
        what: what is wrong with the board.
        the: the frame.
    """
    return [
        bold(what.what, the.box(0.10, 0.46), the.cap(0.10), lines=3),
        plain(what.advice, the.box(0.50, 0.80), the.cap(0.06), lines=3),
    ]


def reading(number: tuple[str, str], caption: str, below: str, the: RigFrame) -> list[PageItem]:
    """Show the live reading.

    Args:
        number: digits and unit.
        caption: what it is.
        below: what is wanted, or empty.
        the: the frame.
    """
    digits, unit = number
    return [
        plain(caption, the.caption, the.cap(SMALL_CAP), is_quiet=True),
        Number(digits, the.number, the.cap(NUMBER_CAP), Align.RIGHT),
        bold(unit, the.unit, the.cap(0.055)),
        plain(below, the.beside, the.cap(SMALL_CAP)),
    ]


def steadiness(words: str, state: State, share: float, the: RigFrame) -> list[PageItem]:
    """Say whether the reading is stable, by a bar with a hatch of its own and in words.

    Args:
        words: such as `not stable yet: it swings`.
        state: colour and hatch of the bar.
        share: how much of the mean is taken, 0 to 1.
        the: the frame.
    """
    return [
        Bar(the.state, share, state),
        bold(words, the.state_word, the.cap(WORD_CAP)),
    ]


def keys(
    leads: Collection[str], owns: Collection[Own], the: RigFrame, *, has_ended: bool
) -> Words:
    """Write the footer.

    Args:
        leads: words of the keys that whoever leads hears now.
        owns: what the window itself does.
        the: the frame.
        has_ended: True where the first key closes the window.
    """
    line = footer(leads, owns, has_ended=has_ended)
    cap_px = the.cap(KEYS_CAP)
    return plain(line, the.keys, cap_px, align=Align.CENTRE, is_quiet=True)


def table(
    rows: list[tuple[str, str]], box: Box, cap_px: float, name_share: float = 0.22
) -> list[PageItem]:
    """Set rows of a name and words under one another.

    Args:
        rows: name, words.
        box: where [px]; the rows share its height, none higher than four capitals.
        cap_px: height of a capital if there is room enough [px].
        name_share: share of the width for the names.
    """
    if not rows:
        return []
    high = min(box.h / len(rows), 3.2 * cap_px)
    items: list[PageItem] = []
    for index, (name, words) in enumerate(rows):
        y = box.y + index * high
        left = Box(box.x, y, box.w * (name_share - 0.01), high)
        right = Box(box.x + box.w * name_share, y, box.w * (1.0 - name_share), high)
        items.append(plain(name, left, cap_px, is_quiet=True))
        items.append(plain(words, right, cap_px))
    return items
