"""What a session shows in the terminal: a line for each thing that happens, or big digits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.cli.big_digits import big
from strikebridge.club.training import Closing
from strikebridge.glance import Phase
from strikebridge.reports.words import force_words
from strikebridge.session.happenings import Closed, Cued, Done, Reopened, TakenBack
from strikebridge.units import show_force

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.athlete import Athlete
    from strikebridge.glance import Glance
    from strikebridge.session.happenings import Happening
    from strikebridge.session.turns import Turn
    from strikebridge.units import ForceUnit

HOME, REST_OF_LINE, REST_OF_SCREEN = "\x1b[H", "\x1b[K", "\x1b[J"


def happening_words(one: Happening, athletes: Mapping[str, Athlete], unit: ForceUnit) -> str:
    """Write what happened as one line.

    Args:
        one: what happened.
        athletes: id -> athlete.
        unit: the coach's unit.

    Returns:
        One line, empty where there is nothing to read.
    """
    if isinstance(one, Done):
        return f"{_turn_words(one.turn, athletes)}   {_result_words(one, unit)}"
    if isinstance(one, Closed) and one.why is not Closing.UNDONE:  # a sentence says that
        return f"{_turn_words(one.turn, athletes)}   {one.why.value}"
    if isinstance(one, TakenBack):
        return f"{_turn_words(one.turn, athletes)}   taken back"
    if isinstance(one, Reopened):
        return f"{_turn_words(one.turn, athletes)}   comes again"
    if isinstance(one, Cued):
        return f"{athletes[one.turn.athlete].name}   cue: {one.cue}"
    return ""


def framed(lines: str) -> str:
    """Put lines where those before them stood, so that nothing flickers.

    Args:
        lines: what fills the terminal.

    Returns:
        What is sent to the terminal; no line of before is left over.
    """
    overwritten = "".join(f"{line}{REST_OF_LINE}\n" for line in lines.split("\n"))
    return HOME + overwritten + REST_OF_SCREEN


def screen_words(glance: Glance, cues: Sequence[str] = ()) -> str:
    """Fill a terminal: one thing big, who and what above it, what to mind below.

    Args:
        glance: what may be shown now.
        cues: the coach's list, in the order of their keys.

    Returns:
        Lines.
    """
    head = "   ".join(part for part in (glance.athlete, glance.exercise, glance.hand) if part)
    if glance.set_total:
        head += f"   set {glance.set_number} of {glance.set_total}, rep {glance.rep_number}"
    lines = [head, glance.stage, "", *big(_number(glance)), ""]
    if glance.target_N is not None:
        lines.append(f"to beat: {show_force(glance.target_N, None, glance.unit)} {glance.unit}")
    if glance.band_N is not None:
        low, high = (show_force(edge, None, glance.unit) for edge in glance.band_N)
        lines.append(f"band: {low} to {high} {glance.unit}")
    if glance.trouble is not None:
        lines += [glance.trouble.what, glance.trouble.advice]
    lines += [glance.told, *glance.advice, glance.sentence, *glance.notes]
    lines.append(glance.warning or glance.remark)
    if glance.following:
        lines.append(f"then: {glance.following}")
    if glance.cue:
        lines.append(f"cue given: {glance.cue}")
    if cues:
        numbered = (f"{number} {cue}" for number, cue in enumerate(cues, start=1))
        lines.append(f"cues: {', '.join(numbered)}")
    return "\n".join(line for line in lines if line is not None)


def _number(glance: Glance) -> str:
    """Choose the one number that is big."""
    if glance.phase is Phase.HOLD or (glance.phase is Phase.RESULT and glance.peak_N):
        force_N = glance.force_N if glance.phase is Phase.HOLD else glance.peak_N
        return "-" if force_N is None else show_force(force_N, None, glance.unit)
    if glance.seconds_left is None:
        return " "
    return f"{max(0.0, glance.seconds_left):.0f}"


def _turn_words(turn: Turn, athletes: Mapping[str, Athlete]) -> str:
    name = athletes[turn.athlete].name
    return (
        f"{name}   {turn.exercise.name}   set {turn.set_number} of {turn.block.sets}, "
        f"rep {turn.rep_number}"
    )


def _result_words(done: Done, unit: ForceUnit) -> str:
    if done.rep is None:
        return f"{turn_seconds(done.turn)} done"
    peak = done.rep.measures["peak_force"]
    words = done.rep.verdict
    return (
        f"{force_words(peak.value, peak.u95, unit)}   {words.rise}, {words.hold}   "
        f"{words.sentence}"
    )


def turn_seconds(turn: Turn) -> str:
    """Say how long a turn lasts.

    Args:
        turn: the turn.

    Returns:
        Such as `60 s`.
    """
    return f"{turn.block.seconds:g} s"
