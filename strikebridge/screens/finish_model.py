"""The last page of a calibration: what it is worth, largest doubt first, what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import Bar, Page, PageItem, with_words
from strikebridge.screens.items import Align, Box
from strikebridge.screens.keys import Own
from strikebridge.screens.look import State
from strikebridge.screens.rig_layout import DETAIL_CAP, SMALL_CAP, WORD_CAP, RigFrame
from strikebridge.units import ForceUnit, from_newtons

if TYPE_CHECKING:
    from strikebridge.calibration.certificate import BudgetTerm

OWNS = (Own.SCHEME, Own.UNIT, Own.FULL_SCREEN, Own.CLOSE)
MOST_TERMS = 6


@dataclass(frozen=True, slots=True)
class Finish:
    """What a finished calibration has to say; or why there is none.

    Attributes:
        worth: what it is worth in each unit, one sentence.
        budget: doubts at the largest load, largest first.
        advice: what would help most.
        minds: further sentences.
        kept: where it is kept and what comes next.
        is_failed: True where there is no calibration; `worth` then says why.
    """

    worth: dict[ForceUnit, str]
    budget: tuple[BudgetTerm, ...] = ()
    advice: str = ""
    minds: tuple[str, ...] = ()
    kept: str = ""
    is_failed: bool = False


def finish_page(finish: Finish, size: tuple[float, float], unit: ForceUnit) -> Page:
    """Decide the page.

    Args:
        finish: what there is to say.
        size: width and height of the page [px].
        unit: the coach's unit.

    Returns:
        What is to be painted.
    """
    the = RigFrame(*size)
    title = "No calibration" if finish.is_failed else "Calibration finished"
    items = parts.head(title, "", 1.0, the)
    items.append(parts.bold(finish.worth[unit], the.box(0.095, 0.315), the.cap(0.062), lines=3))
    items += _budget(finish.budget, the, unit)
    words = " ".join(part for part in (finish.advice, *finish.minds) if part)
    items.append(parts.plain(words, the.box(0.70, 0.855), the.cap(WORD_CAP), lines=4))
    cap_px = the.cap(DETAIL_CAP)
    items.append(parts.plain(finish.kept, the.box(0.87, 0.95), cap_px, lines=2, is_quiet=True))
    items.append(parts.keys((), OWNS, the, has_ended=True))
    return with_words(tuple(items))


def _budget(terms: tuple[BudgetTerm, ...], the: RigFrame, unit: ForceUnit) -> list[PageItem]:
    """Draw the doubts as bars, as long as they are large."""
    if not terms:
        return []
    place = the.box(0.335, 0.685)
    shown = terms[:MOST_TERMS]
    high = place.h / (MOST_TERMS + 1)
    cap_px = the.cap(SMALL_CAP)
    head = Box(place.x, place.y, place.w, high)
    items: list[PageItem] = [
        parts.plain(
            "where the doubt at the largest load comes from (standard uncertainty)",
            head,
            cap_px,
            is_quiet=True,
        )
    ]
    largest = terms[0].u_N
    for number, term in enumerate(shown, start=1):
        y = place.y + number * high
        name = Box(place.x, y, 0.24 * place.w, 0.9 * high)
        bar = Box(place.x + 0.25 * place.w, y + 0.18 * high, 0.58 * place.w, 0.60 * high)
        value = Box(place.x + 0.84 * place.w, y, 0.16 * place.w, 0.9 * high)
        words = f"{from_newtons(term.u_N, unit):.2g} {unit}"
        items += [
            parts.bold(term.term, name, cap_px),
            Bar(bar.on_pixels(), term.u_N / largest, State.PUSH),
            parts.plain(words, value, cap_px, align=Align.RIGHT),
        ]
    return items
