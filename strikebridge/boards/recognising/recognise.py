"""Work out the shape of an unknown board's lines from a few seconds of them.

The lines are taken apart, and those that are built alike are put together. Either nearly all of
them are built alike, and each is a reading; or they come round in a fixed order, and a round is
one. Then each number gets its role (see `roles` and `looks`). What cannot be told is not
guessed: there is a question instead, and where it touches which number is the load, no shape.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.boards.line_decoder import EDGES, is_idle
from strikebridge.boards.recognising.roles import Draft, assign_roles
from strikebridge.boards.recognising.tokens import Kind, Token, exact_key, loose_key, take_apart

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.boards.line_shape import LineShape

FEWEST = 3  # readings of one build that are believed
ALIKE = 0.6  # share of the lines with a number that have to be built alike
LONGEST_ROUND = 6
ROUND_SHARE = 0.85  # of the lines that have to keep the order
Tokens = tuple[Token, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """What was understood of some lines.

    Attributes:
        shape: their shape, None where it is not known.
        questions: what has to be asked, whole sentences.
        readings: lines, or rounds of lines, that fit.
    """

    shape: LineShape | None
    questions: tuple[str, ...] = ()
    readings: int = 0

    @property
    def is_sure(self) -> bool:
        """True where nothing has to be asked."""
        return self.shape is not None and not self.questions


NOTHING = Finding(None)


def recognise(lines: Sequence[bytes], span_s: float = 0.0) -> Finding:
    """Work out the shape of lines.

    Args:
        lines: in order of arrival; the first may be torn, and is only looked at for headings.
        span_s: time that they took to arrive [s], 0 where nobody knows.

    Returns:
        What was understood.
    """
    rows = [take_apart(line.strip(EDGES)) for line in lines[1:] if not is_idle(line)]
    rows = [row for row in rows if row]
    numbered = [row for row in rows if _numbers(row)]
    if len(numbered) < FEWEST:
        return NOTHING
    key, count = Counter(map(loose_key, numbered)).most_common(1)[0]
    alike = [row for row in numbered if loose_key(row) == key]
    labels = _label_numbers(alike)
    round_of = _find_round([_name_labels(row, key, labels) for row in rows])
    if round_of:
        return _of_rounds(rows, round_of, key, labels, span_s)
    if count < ALIKE * len(numbered):
        return NOTHING
    draft = Draft([alike], _heading(lines, rows, alike), span_s)
    return _finding(draft)


def _finding(draft: Draft) -> Finding:
    shape, questions = assign_roles(draft)
    return Finding(shape, questions, min(len(group) for group in draft.groups))


def _numbers(row: Tokens) -> list[Token]:
    return [token for token in row if token.kind is Kind.NUMBER]


def _label_numbers(alike: list[Tokens]) -> set[int]:
    """Find numbers that only say which cell a line is of: small, and round and round.

    Returns:
        Their places among the numbers of the line.
    """
    rows = [_numbers(row) for row in alike]
    found = set()
    for place in range(len(rows[0]) - 1):  # the last number of a line is no label
        texts = [row[place].text for row in rows]
        kinds = len(set(texts))
        if not 2 <= kinds <= LONGEST_ROUND or not all(
            len(t) == 1 and t.isdigit() for t in texts
        ):
            continue
        kept = sum(a == b for a, b in zip(texts, texts[kinds:], strict=False))
        # running through the lines it would come to more than a handful of values
        if len(texts) >= 2 * kinds and kept >= ROUND_SHARE * (len(texts) - kinds):
            found.add(place)
    return found


def _name_labels(row: Tokens, key: tuple[str, ...], labels: set[int]) -> Tokens:
    """Turn numbers that are labels into words."""
    if not labels or loose_key(row) != key:
        return row
    named, place = [], 0
    for token in row:
        if token.kind is Kind.NUMBER:
            is_label, place = place in labels, place + 1
            named.append(Token(Kind.WORD, token.text) if is_label else token)
        else:
            named.append(token)
    return tuple(named)


def _find_round(rows: list[Tokens]) -> list[tuple[str, ...]]:
    """Find the fixed order in which lines of several builds come round.

    Returns:
        The builds in their order, empty where there is no such order.
    """
    keys = [exact_key(row) for row in rows]
    for period in range(2, LONGEST_ROUND + 1):
        late = keys[len(keys) // 4 :] if len(keys) >= 4 * period else keys
        pairs = list(zip(late, late[period:], strict=False))
        if len(pairs) < period or sum(a == b for a, b in pairs) < ROUND_SHARE * len(pairs):
            continue
        turn = late[-period:]
        if len(set(turn)) == period and any("<number>" in key for key in turn):
            return _begin_round(turn)
        if len(set(turn)) == 1:
            return []
    return []


def _begin_round(turn: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Begin a round with a label alone, if there is one, else with the first of the labels."""
    alone = [place for place, key in enumerate(turn) if "<number>" not in key]
    if alone:
        # the last of several, so that a rule before a label does not part label and value
        first = next((p for p in alone if p - 1 not in alone), alone[0])
    else:
        first = min(range(len(turn)), key=turn.__getitem__)
    return turn[first:] + turn[:first]


def _of_rounds(
    rows: list[Tokens],
    turn: list[tuple[str, ...]],
    key: tuple[str, ...],
    labels: set[int],
    span_s: float,
) -> Finding:
    """Put the lines of whole rounds together and give their numbers roles."""
    named = [_name_labels(row, key, labels) for row in rows]
    keys = [exact_key(row) for row in named]
    size = len(turn)
    starts = [at for at in range(len(keys) - size + 1) if keys[at : at + size] == turn]
    if len(starts) < FEWEST:
        return NOTHING
    groups = [[named[at + place] for at in starts] for place in range(size)]
    return _finding(Draft(groups, (), span_s))


def _heading(
    lines: Sequence[bytes], rows: list[Tokens], alike: list[Tokens]
) -> tuple[str, ...]:
    """Find a line of headings, one for each number of a line of columns.

    The first line may be torn: then its first heading is not believed.
    """
    fields = len(_numbers(alike[0]))
    marks = Counter(t.text for t in alike[0] if t.kind in (Kind.MARK, Kind.BLANK))
    if not marks or any(token.kind is Kind.WORD for token in alike[0]):
        return ()
    separator = next((m for m in (";", "\t", ",", "|") if m in marks), None)
    first = take_apart(lines[0].strip(EDGES))
    for place, row in enumerate([first, *rows]):
        if not row or any(token.kind is Kind.NUMBER for token in row):
            continue
        text = "".join(token.text for token in row)
        names = [
            name.strip(' "') for name in (text.split(separator) if separator else text.split())
        ]
        if len(names) == fields and all(name[:1].isalpha() for name in names):
            return ("", *names[1:]) if place == 0 else tuple(names)
    return ()
