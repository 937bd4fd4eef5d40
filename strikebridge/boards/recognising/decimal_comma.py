"""Tell a decimal comma from a comma that parts two columns, or say that nobody can."""

from __future__ import annotations

from enum import Enum
from itertools import pairwise
from typing import TYPE_CHECKING

from strikebridge.boards.recognising.tokens import Kind, Token

if TYPE_CHECKING:
    from collections.abc import Sequence

MOST_DECIMALS = 3  # digits behind a decimal comma, unless they begin with zeros
THOUSANDS = 3
SURE_UNITS = ("kg", "N", "lb", "lbs", "kgf")  # 84,013 kg can only be 84 kilograms
Tokens = tuple[Token, ...]


class Comma(Enum):
    """What the commas between digits are."""

    NONE = "there is none"
    DECIMAL = "a decimal comma"
    COLUMNS = "a separator"
    ASK = "either"


def judge_commas(rows: Sequence[Tokens]) -> Comma:
    """Say what the commas in lines of one build are.

    Args:
        rows: the lines, built alike.
    """
    places = [_pairs(row) for row in rows]
    if not places[0] or any(place != places[0] for place in places):
        return Comma.NONE if not any(places) else Comma.COLUMNS
    pairs = places[0]
    if any(after - before == 2 for before, after in pairwise(pairs)):
        return Comma.COLUMNS  # one comma after the other: no number has two
    verdicts = {_judge(rows, at) for at in pairs}
    if len(verdicts) == 1:
        return verdicts.pop()
    return Comma.COLUMNS if Comma.COLUMNS in verdicts else Comma.ASK


def join_commas(row: Tokens) -> Tokens:
    """Make one number of the two on either side of each decimal comma.

    Args:
        row: a line.
    """
    joined: list[Token] = []
    at = 0
    pairs = set(_pairs(row))
    while at < len(row):
        if at in pairs:
            text = "".join(token.text for token in row[at : at + 3])
            joined.append(Token(Kind.NUMBER, text))
            at += 3
        else:
            joined.append(row[at])
            at += 1
    return tuple(joined)


def _pairs(row: Tokens) -> list[int]:
    """Find where two numbers stand with a comma and nothing else between."""
    return [
        at
        for at in range(len(row) - 2)
        if row[at].kind is Kind.NUMBER
        and row[at + 1].text == ","
        and row[at + 2].kind is Kind.NUMBER
    ]


def _judge(rows: Sequence[Tokens], at: int) -> Comma:
    """Judge one pair by what stands behind the comma."""
    before = [row[at].text for row in rows]
    after = [row[at + 2].text for row in rows]
    if not all(text.isdigit() for text in after) or any("." in text for text in before):
        return Comma.COLUMNS
    widths = {len(text) for text in after}
    has_zeros = any(len(text) > 1 and text[0] == "0" for text in after)
    if len(widths) > 1 or (widths.pop() > MOST_DECIMALS and not has_zeros):
        return Comma.ASK if has_zeros else Comma.COLUMNS
    follows = next((t.text for t in rows[0][at + 3 :] if t.kind is not Kind.BLANK), "")
    if len(after[0]) == THOUSANDS:
        return Comma.DECIMAL if follows in SURE_UNITS else Comma.ASK
    marks = {token.text for token in rows[0] if token.kind in (Kind.MARK, Kind.BLANK)}
    is_parted = bool(marks & {";", "\t", "|"}) or follows in (*SURE_UNITS, "g")
    return Comma.DECIMAL if has_zeros or is_parted else Comma.ASK
