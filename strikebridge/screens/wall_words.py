"""What the wall says: every sentence on it, made from a Glance; no Qt, no layout."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from strikebridge.calibration.rating import Strain
from strikebridge.desk import BREATH
from strikebridge.glance import Phase
from strikebridge.samples import Effort
from strikebridge.screens.look import State
from strikebridge.units import ForceUnit, decimals_for, show_doubt, show_force

if TYPE_CHECKING:
    from strikebridge.glance import Glance

DASHES = "– –"
TIE = "\u00a0"  # a space at which a line is never broken
HARDLY_N = 15.0  # below this nobody is pushing yet; our own convention


def state_of(glance: Glance) -> State:
    """Judge how the force now stands against the mark or the band.

    Args:
        glance: what is known.

    Returns:
        The state that colour, hatch and words of the block follow.
    """
    if glance.stale or glance.force_N is None:
        return State.STALE
    if glance.strain:
        return State.OVER
    low, high = edges_N(glance)
    if low is None:
        return State.PUSH if glance.force_N >= HARDLY_N else State.REST
    if high is not None and glance.force_N > high:
        return State.OVER
    if glance.force_N >= low:
        return State.THERE
    return State.PUSH if glance.force_N >= HARDLY_N else State.REST


def edges_N(glance: Glance) -> tuple[float | None, float | None]:
    """Find what to reach and what not to pass.

    Args:
        glance: what is known.

    Returns:
        Lower edge [N], or None where nothing is asked; upper edge [N], or None without a band.
    """
    if glance.band_N is not None:
        return glance.band_N
    return glance.target_N, None


def number_text(glance: Glance) -> str:
    """Write the big number: force now, or the peak once the rep is over.

    Args:
        glance: what is known.

    Returns:
        Digits, or dashes where nothing is known or the force is no longer the force now.
    """
    if glance.phase is Phase.RESULT:
        if glance.peak_N is None:
            return DASHES
        return show_force(glance.peak_N, glance.peak_u95_N, glance.unit)
    if glance.stale or glance.force_N is None:
        return DASHES
    return show_force(glance.force_N, glance.force_u95_N, glance.unit)


def doubt_text(glance: Glance) -> str:
    """Write what stands under the big number: its ±.

    Args:
        glance: what is known.

    Returns:
        Such as `± 0.8 kg`; words where the uncertainty is unknown, empty beside dashes.
    """
    is_result = glance.phase is Phase.RESULT
    value = glance.peak_N if is_result else glance.force_N
    u95_N = glance.peak_u95_N if is_result else glance.force_u95_N
    if value is None or (glance.stale and not is_result):
        return ""
    if u95_N is None or not math.isfinite(u95_N):
        return "± not known"
    return f"± {show_doubt(u95_N, glance.unit)} {glance.unit}"


def peak_text(glance: Glance) -> str:
    """Write the held peak of the rep under way.

    Args:
        glance: what is known.

    Returns:
        Such as `peak 84.6 kg`, empty before there is one.
    """
    if glance.peak_N is None:
        return ""
    return f"peak {show_force(glance.peak_N, glance.peak_u95_N, glance.unit)} {glance.unit}"


def standing_text(glance: Glance, state: State) -> str:
    """Say how far it is to the mark or the band.

    Args:
        glance: what is known.
        state: what `state_of` said, perhaps a moment ago.

    Returns:
        A few words that go with the colour and hatch of the block.
    """
    low, _ = edges_N(glance)
    is_band = glance.band_N is not None
    where = "band" if is_band else "mark"
    words = {
        State.STALE: "no reading from the board",
        State.REST: "",
        State.PUSH: "pushing" if low is None else f"at the {where}",
        State.THERE: "in the band" if is_band else "mark reached",
        State.OVER: "above the band: ease off",
    }[state]
    if glance.strain and state is not State.STALE:
        is_too_much = glance.strain == Strain.OVER
        return "Stop! Let go" if is_too_much else "Near the cell's limit: ease off"
    is_over = glance.hold_s is not None and glance.elapsed_s >= glance.hold_s
    if is_over and glance.phase is Phase.HOLD and state is not State.STALE:
        return "Let go"
    if glance.force_N is None or state not in (State.REST, State.PUSH):
        return words
    if state is State.REST and glance.phase is Phase.HOLD and glance.peak_N is None:
        return "Go!"
    if low is not None and glance.force_N < low:
        way = show_force(low - glance.force_N, glance.force_u95_N, glance.unit)
        return f"{way} {glance.unit} to the {where}"
    return words


def aim_text(glance: Glance) -> str:
    """Say what to reach.

    Args:
        glance: what is known.

    Returns:
        A sentence of a few words, such as `Reach 85 kg`.
    """
    if glance.band_N is not None:
        low, high = (show_force(edge, None, glance.unit) for edge in glance.band_N)
        return f"Stay between {low} and {high}{TIE}{glance.unit}"
    if glance.target_N is not None:
        return f"Reach {show_force(glance.target_N, None, glance.unit)}{TIE}{glance.unit}"
    if glance.effort is Effort.SUBMAXIMAL:
        return "Hold it, not all out"
    return "As hard as you can"


def chase_text(glance: Glance) -> str:
    """Say what to reach, where that number comes from, and what the last rep was.

    Args:
        glance: what is known.

    Returns:
        Such as `Reach 85 kg (own best, today); last rep 82 kg`.
    """
    said = aim_text(glance)
    if glance.target_from:
        said += f" ({glance.target_from})"
    if glance.last_N is not None:
        last = show_force(glance.last_N, None, glance.unit)
        said += f"; last rep {last}{TIE}{glance.unit}"
    return said


def mark_texts(glance: Glance) -> tuple[str, ...]:
    """Write the force at each mark.

    Args:
        glance: what is known.

    Returns:
        One text a mark, from left to right.
    """
    return tuple(
        f"{show_force(edge, None, glance.unit)} {glance.unit}"
        for edge in edges_N(glance)
        if edge is not None
    )


def punch_text(glance: Glance) -> str:
    """Say punch and hand in words, such as `rear straight, right hand`."""
    hand = f"{glance.hand} hand" if glance.hand else ""
    return ", ".join(part for part in (glance.exercise, hand) if part)


def rep_text(glance: Glance) -> str:
    """Say which repetition this is, such as `rep 2 of 5`; empty before the first."""
    if glance.rep_number <= 0:
        return ""
    many = "" if glance.rep_total is None else f" of {glance.rep_total}"
    rep = f"rep {glance.rep_number}{many}"
    if glance.set_total is None or glance.set_total < 2:
        return rep
    return f"set {glance.set_number} of {glance.set_total}, {rep}"


def seconds_text(glance: Glance) -> str:
    """Say how many whole seconds of this phase are left, such as `3 s left`."""
    seconds = whole_seconds(glance.seconds_left or 0.0)
    return f"{seconds} s left" if seconds else ""


def entry_text(glance: Glance) -> str:
    """Write what was typed so far, dashes before the first digit."""
    return glance.entry or DASHES


def whole_seconds(seconds: float) -> int:
    """Round a time left up, so that a countdown says 3, 2, 1 and not 2, 1, 0."""
    return max(0, math.ceil(seconds - 1e-9))


def count_text(glance: Glance) -> str:
    """Write the count-in, at least 1 as long as it runs."""
    return str(max(1, whole_seconds(glance.seconds_left or 0.0)))


def quality_text(glance: Glance) -> str:
    """Say the hold quality with its ±, empty where it is withheld."""
    if glance.quality_percent is None:
        return ""
    u95 = glance.quality_u95_percent
    decimals = decimals_for(u95, most=0)
    value = f"held well {glance.quality_percent:.{decimals}f} %"
    if u95 is None:
        return value
    return f"{value} ± {max(1, math.ceil(u95 - 1e-9))} %"


def change_text(glance: Glance) -> str:
    """Say the change from the last rep, as level where its ± hides it, and from the best."""
    parts = []
    change, u95 = glance.change_last_N, glance.change_last_u95_N
    if change is not None and u95 is not None:
        doubt = f"± {show_doubt(u95, glance.unit)} {glance.unit}"
        if abs(change) <= u95:
            parts.append(f"level with the last ({doubt})")
        else:
            gain = show_force(change, u95, glance.unit, is_signed=True)
            parts.append(f"{gain} {glance.unit} on the last ({doubt})")
    if glance.change_best:
        parts.append(glance.change_best)
    return ", ".join(parts)


def ready_text(glance: Glance) -> str:
    """Say what to do now."""
    if glance.trouble is not None:
        return trouble_text(glance)
    return glance.sentence or glance.warning or "Ready when you are"


def remark_text(glance: Glance) -> str:
    """Say what the coach should know, before the first rep and where no mark needs the row."""
    return glance.remark if glance.rep_number == 0 and not mark_texts(glance) else ""


def trouble_text(glance: Glance) -> str:
    """Say what is wrong and what to do, in one breath."""
    if glance.trouble is None:
        return ""
    return f"{glance.trouble.what} {glance.trouble.advice}"


def notes_text(glance: Glance, *, has_notes: bool = True) -> str:
    """Say what to mind at this turn.

    Args:
        glance: what is known.
        has_notes: False for the breath cue alone, where the coach reads the rest elsewhere.
    """
    return " ".join(one for one in glance.notes if has_notes or one == BREATH)


def then_text(glance: Glance) -> str:
    """Say who comes after this athlete, so as to get ready."""
    return f"then {glance.following}" if glance.following else ""


def begins_text(glance: Glance) -> str:
    """Say what begins the turn: the clock, with its seconds, or somebody."""
    seconds = whole_seconds(glance.seconds_left or 0.0)
    if glance.stage == "rest":
        return f"rest, {seconds} s left" if seconds else "rest"
    if glance.strain:
        return glance.strain
    return f"get set, {seconds} s" if seconds else glance.warning or "Ready when you are"


def since_text(glance: Glance) -> str:
    """Say since when the board has been in trouble."""
    if glance.trouble is None:
        return ""
    seconds = glance.trouble.since_s
    if seconds < 1.0:
        return "began just now"
    if seconds < 120.0:
        return f"began {math.floor(seconds)} s ago"
    return f"began {math.floor(seconds / 60.0)} min ago"


def next_name(glance: Glance) -> str:
    """Say who is next; without a roster, what is next."""
    return glance.following or glance.athlete or glance.exercise or "Rest"


def rest_text(glance: Glance) -> str:
    """Say the seconds of rest that are left, and which repetition comes next."""
    seconds = seconds_text(glance)
    rest = f"rest, {seconds}" if seconds else "rest"
    return "   ".join(part for part in (rest, rep_text(glance)) if part)


def unit_text(unit: ForceUnit) -> str:
    """Write the unit that stands beside the big number."""
    return unit.value
