"""Give every number of the lines its role, or ask.

Which of several numbers is the load is decided by what is written beside them. Where nothing is
written, columns of raw counts are cells; anything else stays open. Where raw counts and a
converted value share a line, the counts are taken.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.line_shape import (
    MOST_CELLS,
    QUANTITIES,
    Field,
    LineShape,
    Part,
    Role,
    parse_shape,
)
from strikebridge.boards.recognising.decimal_comma import Comma, join_commas, judge_commas
from strikebridge.boards.recognising.looks import (
    CLOCK_OF,
    NUMBER_WORDS,
    SECONDS,
    TIME_WORDS,
    UNIT_OF,
    Column,
)
from strikebridge.boards.recognising.tokens import Kind, Token
from strikebridge.errors import FormatError

if TYPE_CHECKING:
    from collections.abc import Sequence

Tokens = tuple[Token, ...]
NOT_A_LABEL = ("unit", "units")
ASK_UNIT = "What unit are its numbers in: counts, kilograms, newtons or pounds?"
ASK_LOAD = (
    "Which of the {n} numbers in '{line}' is the load? Tell by a shape: write <count> or <kg> "
    "for it, for several cells for each of them, and <skip> for the others."
)
ASK_COMMA = (
    "Is the comma in '{line}' a decimal comma, or does it part two numbers? Tell by a shape, "
    "such as <kg,> for the first or <count>,<count> for the second."
)
ASK_CLOCK = (
    "In which unit is the time in '{line}'? Tell by a shape, with <us>, <ms> or <s> for it."
)
ASK_DASH = (
    "Is the dash in '{line}' a minus? Tell by a shape: leave the dash out if it is one, write "
    "it as it stands if not."
)
ASK_TWO = (
    "Do the lines of this board come from two cells in turn? They cannot be told apart; let "
    "its sketch write a name before each number, such as A: and B:."
)
STATES = ("ST", "US", "GS", "NT", "GR", "TR", "NET", "S", "D", "SD", "U", "G")
"""Words by which weighing indicators say stable, unstable, gross, net, tared: they change."""

TWO_APART = 12.0  # usual steps within each, by which the two have to differ


@dataclass(frozen=True, slots=True)
class Draft:
    """Lines that are built alike, before their numbers have roles.

    Attributes:
        groups: for each line of a reading all the lines of that build, equally many.
        heading: names above the columns; empty without.
        span_s: time that the lines took to arrive [s], 0 where nobody knows.
    """

    groups: list[list[Tokens]]
    heading: tuple[str, ...]
    span_s: float


@dataclass(slots=True)
class _Roles:
    """Roles given so far, and what has to be asked.

    Attributes:
        roles: by column.
        questions: what has to be asked.
        is_open: True where the answer decides which number is the load.
        clocks: columns that go like a clock, be they used or not.
    """

    roles: list[Role]
    questions: list[str] = field(default_factory=list)
    is_open: bool = False
    clocks: set[int] = field(default_factory=set)

    def ask(self, question: str, line: str, n: int = 0) -> None:
        """Leave open which number is the load."""
        self.questions.append(question.format(line=line, n=n))
        self.is_open = True


Answer = tuple["LineShape | None", "tuple[str, ...]"]


def assign_roles(draft: Draft) -> Answer:
    """Give every number its role.

    Args:
        draft: the lines.

    Returns:
        Their shape, None where the load is not sure; and what has to be asked.
    """
    line = _shown(draft.groups)
    groups, has_comma = [], False
    for group in draft.groups:
        comma = judge_commas(group)
        if comma is Comma.ASK:
            return None, (ASK_COMMA.format(line=line),)
        if comma is Comma.DECIMAL:
            has_comma = True
            groups.append([join_commas(row) for row in group])
        else:
            groups.append(group)
    columns = _columns(groups, draft.heading)
    given = _Roles([Role.SKIP] * len(columns))
    if _has_loose_dash(groups):
        given.ask(ASK_DASH, line)
    _find_clock(columns, given, draft.span_s, line)
    _find_load(columns, given, groups, line)
    if given.is_open or not any(role in QUANTITIES for role in given.roles):
        return None, tuple(given.questions)
    try:
        shape = _shape(groups, given.roles, has_comma=has_comma)
    except FormatError:  # labels or words that no shape allows for: nothing was understood
        return None, ()
    return shape, tuple(given.questions)


def _shown(groups: Sequence[Sequence[Tokens]]) -> str:
    """Show a reading in a question, as it came."""
    texts = ["".join(token.text for token in group[-1]) for group in groups]
    return " / ".join("".join(c if " " <= c <= "~" else "." for c in text) for text in texts)


def _columns(groups: Sequence[Sequence[Tokens]], heading: tuple[str, ...]) -> list[Column]:
    columns: list[Column] = []
    label = ""
    for group in groups:
        solid = [[token for token in row if token.kind is not Kind.BLANK] for row in group]
        first, is_after = solid[0], False
        for place, token in enumerate(first):
            if token.kind is Kind.WORD and not _is_unit(first, place):
                label += f" {token.text}"
                is_after = False
            if token.kind is not Kind.NUMBER:
                continue
            texts = [row[place].text for row in solid]
            values = np.array([_value(text) for text in texts])
            if not label and len(heading) > len(columns):
                label = heading[len(columns)]
            unit = first[place + 1].text if _is_unit(first, place + 1) else ""
            whole = bool((values == np.floor(values)).all())
            columns.append(Column(label.strip(), unit, values, whole, is_after))
            label, is_after = "", True
    return columns


def _value(text: str) -> float:
    return float(text.translate({ord(" "): None, ord("\t"): None}).replace(",", "."))


def _is_unit(row: Sequence[Token], place: int) -> bool:
    """Say whether a word is the unit of the number before it, and not the next label."""
    if not 0 < place < len(row) or row[place - 1].kind is not Kind.NUMBER:
        return False
    word, after = row[place].text, row[place + 1].text if place + 1 < len(row) else ""
    is_known = (
        word == "N" or word.lower() in UNIT_OF or word in (*CLOCK_OF, "V", "mV", "C", "t")
    )
    return (is_known or word in ("%", "oz")) and after not in (":", "=")


def _has_loose_dash(groups: Sequence[Sequence[Tokens]]) -> bool:
    """Find a sign that stands between blanks before a number: a minus, or a dash."""
    for group in groups:
        row = group[0]
        for at in range(1, len(row) - 2):
            before, sign, gap, number = row[at - 1 : at + 3]
            is_apart = before.kind is Kind.BLANK and gap.kind is Kind.BLANK
            if is_apart and sign.text in "+-" and number.kind is Kind.NUMBER:
                return True
    return False


def _find_clock(columns: list[Column], given: _Roles, span_s: float, line: str) -> None:
    """Find the board's clock and the running number, where there are several numbers."""
    if len(columns) < 2:
        return
    for place, column in enumerate(columns):
        is_silent = not column.words and not column.unit
        is_named = bool(column.words & TIME_WORDS) or column.unit in CLOCK_OF
        steps = column.number_step() and not _keeps_time(column, span_s)
        if steps and not is_named and (is_silent or column.words & {*NUMBER_WORDS, "count"}):
            if Role.NUMBER not in given.roles:
                given.roles[place] = Role.NUMBER
        elif (is_silent or is_named) and column.rises_evenly():
            given.clocks.add(place)
            if any(role in SECONDS for role in given.roles):
                continue
            roles = column.clock_roles(span_s)
            if len(roles) == 1:
                given.roles[place] = roles[0]
            elif len(roles) > 1:
                given.ask(ASK_CLOCK, line)


def _keeps_time(column: Column, span_s: float) -> bool:
    """Say whether a number that goes up by ones does so every millisecond."""
    gone = float(column.values[-1] - column.values[0])
    return span_s > 0.5 and 0.5 < gone / 1e3 / span_s < 2.0


def _find_load(
    columns: list[Column], given: _Roles, groups: Sequence[Sequence[Tokens]], line: str
) -> None:
    free = [
        place
        for place, role in enumerate(given.roles)
        if role is Role.SKIP
        and place not in given.clocks
        and not columns[place].words & TIME_WORDS
    ]
    best = max((columns[place].rank() for place in free), default=0)
    chosen = [place for place in free if columns[place].rank() == best]
    if best == 0:
        return
    counts = [p for p in chosen if columns[p].count_role() and columns[p].named_unit is None]
    if counts and best < 4:
        chosen = counts
    if best == 2 and len(columns) > 1 and all(columns[place].is_still for place in chosen):
        return  # a number in some text, it seems
    tail = [
        p for p in free if p not in chosen and columns[p].follows and columns[p].count_role()
    ]
    cells = _cells(columns, chosen)
    if not cells or (tail and columns[cells[0]].count_role() and best == 3):
        given.ask(ASK_LOAD, line, len(columns))
        return
    if len(columns) == 1 and _is_of_two(columns[0]):
        given.ask(ASK_TWO, line)
        return
    role = _role([columns[place] for place in cells], groups)
    for place in cells:
        given.roles[place] = role
    if role is Role.VALUE:
        given.questions.append(ASK_UNIT)


def _cells(columns: list[Column], chosen: list[int]) -> list[int]:
    """Say which of the likeliest columns are cells; none where that is not sure."""
    if len(chosen) == 1:
        return chosen
    first = columns[chosen[0]]
    others = [columns[place] for place in chosen[1:]]
    is_silent = not any(columns[place].words for place in chosen)
    if not is_silent:
        # cell1 and cell2, A and B are cells; of a weight and a force the first counts
        is_alike = all(
            (column.stem, column.named_unit) == (first.stem, first.named_unit)
            and column.words | {""} != {""}
            for column in others
        )
        return chosen[:MOST_CELLS] if is_alike and len(chosen) <= MOST_CELLS else chosen[:1]
    if first.named_unit is not None:  # the same in another unit
        units = {column.named_unit for column in others}
        return [] if first.named_unit in units else chosen[:1]
    are_counts = all(columns[place].count_role() for place in chosen)
    has_copy = any(column.is_copy_of(first) for column in others)
    return chosen if are_counts and not has_copy and len(chosen) <= MOST_CELLS else []


def _is_of_two(column: Column) -> bool:
    """See whether a lone number jumps to and fro between two levels with every line."""
    even, odd = column.values[::2], column.values[1::2]
    if len(odd) < 3:
        return False
    apart = abs(float(np.median(even) - np.median(odd)))
    within = np.concatenate([np.abs(np.diff(even)), np.abs(np.diff(odd))])
    return apart > TWO_APART * max(float(np.quantile(within, 0.8)), 1e-9) and apart > 2.0


def _role(cells: Sequence[Column], groups: Sequence[Sequence[Tokens]]) -> Role:
    """Say what the readings are."""
    first = cells[0]
    if first.named_unit is not None:
        return first.named_unit
    looks = {column.count_role() for column in cells}
    if looks == {Role.OFFSET}:
        return Role.OFFSET
    if first.is_named_counts or None not in looks:
        return Role.COUNT
    said = _unit_somewhere(groups)
    return Role.VALUE if said is None else said


def _unit_somewhere(groups: Sequence[Sequence[Tokens]]) -> Role | None:
    """Find the one unit that is written anywhere in the lines, as in `"unit":"kg"`."""
    words = [t.text for group in groups for t in group[0] if t.kind is Kind.WORD]
    is_said = any(word.lower() in NOT_A_LABEL for word in words)
    found = {
        UNIT_OF[word.lower() if word != "N" else word]
        for word in words
        if (word == "N" or word.lower() in UNIT_OF) and (len(word) > 1 or is_said)
    }
    return found.pop() if len(found) == 1 else None


def _shape(
    groups: Sequence[Sequence[Tokens]], roles: Sequence[Role], *, has_comma: bool
) -> LineShape:
    """Write the shape down, and read it again, which checks it."""
    left = list(roles)
    lines: list[tuple[Part, ...]] = []
    for group in groups:
        solid = [[token for token in row if token.kind is not Kind.BLANK] for row in group]
        parts: list[Part] = []
        for place, token in enumerate(solid[0]):
            texts = {row[place].text for row in solid}
            gap = _gap(group, place) if place else ""
            after = solid[0][place + 1].text if place + 1 < len(solid[0]) else ""
            is_label = after in (":", "=")
            if is_label and len(texts) > 1 and token.kind is Kind.WORD:
                raise FormatError("These lines have several labels, and no fixed order.")
            is_lone = len(groups) == 1 and not is_label
            part = _part(token, texts, left, has_comma=has_comma, is_lone=is_lone)
            for piece in (gap, part):
                if isinstance(piece, str) and parts and isinstance(parts[-1], str):
                    parts[-1] += piece
                elif piece:
                    parts.append(piece)
        lines.append(tuple(parts))
    return parse_shape(str(LineShape(tuple(lines))))


def _part(
    token: Token, texts: set[str], left: list[Role], *, has_comma: bool, is_lone: bool
) -> Part:
    if token.kind is Kind.NUMBER:
        role = left.pop(0)
        is_decimal = has_comma and any("," in text for text in texts)
        return Field(role, is_decimal)
    if token.kind is Kind.CLOCK:
        return Field(Role.CLOCK)
    is_state = token.text in STATES and is_lone
    if token.kind is Kind.WORD and (len(texts) > 1 or is_state):
        return Field(Role.WORD)
    return token.text


def _gap(group: Sequence[Tokens], place: int) -> str:
    """Give a blank where most lines have one before a piece that is no blank itself."""
    gaps = 0
    for row in group:
        solid = [at for at, token in enumerate(row) if token.kind is not Kind.BLANK]
        gaps += row[solid[place] - 1].kind is Kind.BLANK
    return " " if 2 * gaps > len(group) else ""
