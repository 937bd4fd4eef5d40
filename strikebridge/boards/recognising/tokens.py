"""Take a line of an unknown sketch apart: numbers, words, times of day, punctuation.

The one rule that may never break: digits that are glued to letters are part of a word.
`HX711 not ready` holds no number. Only a unit may stand close behind a number (`12.3kg`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

UNITS = r"(?:kgs?|kgf|g|gr|lbs?|lbf|N|n|t|oz|ms|us|s|V|mV|C|%)"
CLOCK = (
    r"(?<![\w.:])(?:\d{4}-\d\d-\d\d[T ])?\d{1,2}:\d\d:\d\d(?:[.,]\d{1,6})?"
    r"(?:Z|[+-]\d\d:?\d\d)?(?![\w:])|(?<![\w.:-])\d{4}-\d\d-\d\d(?![\w-])"
    r"|(?<![\w.:/])\d\d[./]\d\d[./]\d{4}(?![\w./])"
)
# a sign may be followed by blanks, as weighing indicators print it; after a blank it may not,
# for "Weight - 12" has a dash and no minus
SIGN = (
    r"(?:(?<![\w.+-])[+-]|(?<![\w.+\- \t])[+-][ \t]+|(?<=[A-Za-z])[+-](?=[ \t]*\d*\.\d|\d{4}))"
)
NUM = (
    rf"(?:{SIGN}|(?<![\w.]))(?:\d+(?:\.\d*)?|\.\d+)"
    rf"(?=[^\w.]|\.?$|{UNITS}(?![\w.]))"
)
WORD = r"\w[\w.]*(?:-(?!\d*\.\d|\d{4})\d[\w.]*(?=[ \t]|$))?"
TOKEN = re.compile(
    rf"(?P<clock>{CLOCK})|(?P<number>{NUM})|(?P<word>{WORD})|(?P<blank>[ \t]+)|(?P<mark>.)",
    re.ASCII | re.DOTALL,
)


class Kind(StrEnum):
    """What a piece of a line is."""

    CLOCK = "clock"
    NUMBER = "number"
    WORD = "word"
    BLANK = "blank"
    MARK = "mark"


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of a line.

    Attributes:
        kind: what it is.
        text: its characters, one a byte.
    """

    kind: Kind
    text: str


def take_apart(line: bytes) -> tuple[Token, ...]:
    """Take a line apart.

    Args:
        line: without its line feed and without blanks at the ends.

    Returns:
        All its pieces in order.
    """
    text = line.decode("latin-1")
    return tuple(
        Token(Kind(match.lastgroup or "mark"), match[0]) for match in TOKEN.finditer(text)
    )


def loose_key(tokens: tuple[Token, ...]) -> tuple[str, ...]:
    """Say how a line is built, whatever its words, its numbers and its blanks are.

    Args:
        tokens: the line.
    """
    return tuple(
        token.text if token.kind is Kind.MARK else token.kind.value
        for token in tokens
        if token.kind is not Kind.BLANK
    )


def exact_key(tokens: tuple[Token, ...]) -> tuple[str, ...]:
    """Say how a line is built with its words, whatever its numbers and its blanks are.

    Args:
        tokens: the line.
    """
    return tuple(
        token.text if token.kind in (Kind.MARK, Kind.WORD) else f"<{token.kind.value}>"
        for token in tokens
        if token.kind is not Kind.BLANK
    )
