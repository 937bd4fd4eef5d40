"""The languages that reports are written in: one TOML file each in `languages/`.

A file holds sentences under dotted keys, with named gaps such as `{athlete}`. A sentence that
depends on a number has the endings `.one` and `.other`. Every file has the same keys with the
same gaps; English is the measure of what there has to be.

Some words were stored in English when they came up: why a measure was withheld. They are found
again by their pattern, so that they can be said in another language.
"""

from __future__ import annotations

import functools
import re
import tomllib
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING

from strikebridge.errors import FormatError

if TYPE_CHECKING:
    from collections.abc import Mapping

LANGUAGES: dict[str, str] = {"en": "English", "de": "Deutsch"}
"""Key of each language -> its own name for itself; the first is the one taken unasked."""
UNASKED = "en"


@dataclass(frozen=True, slots=True)
class Language:
    """The words of one language.

    Attributes:
        key: such as `en`, the tag of BCP 47 that stands in the page.
        sentences: dotted key -> sentence with named gaps.
        reasons: English pattern of a stored reason -> sentence; gaps carry over.
    """

    key: str
    sentences: Mapping[str, str]
    reasons: Mapping[str, str]

    def say(self, key: str, **gaps: object) -> str:
        """Fill in a sentence.

        Args:
            key: dotted key.
            gaps: what stands in its gaps.

        Returns:
            The sentence.

        Raises:
            KeyError: there is no such sentence, or a gap is left open.
        """
        return self.sentences[key].format(**gaps)

    def count(self, key: str, number: int, **gaps: object) -> str:
        """Fill in a sentence that depends on a number, which it calls `n`.

        Args:
            key: dotted key without its ending.
            number: how many.
            gaps: what stands in the other gaps.

        Returns:
            The sentence for one, or for any other number.

        Raises:
            KeyError: there is no such sentence, or a gap is left open.
        """
        return self.say(f"{key}.{'one' if number == 1 else 'other'}", n=number, **gaps)

    def knows(self, key: str) -> bool:
        """Say whether there is a sentence under this key."""
        return key in self.sentences

    def named(self, family: str, word: str) -> str:
        """Say a stored word in this language, or as it was stored where it has none.

        Args:
            family: table it stands in, such as `rise`.
            word: as stored.
        """
        return self.sentences.get(f"{family}.{word}", word)

    def reason(self, stored: str) -> str:
        """Say a stored reason in this language, or as it was stored where none fits.

        Args:
            stored: English words out of the measures.
        """
        for pattern, words in self.reasons.items():
            found = _matcher(pattern).fullmatch(stored)
            if found:
                return words.format(**found.groupdict())
        return stored


@functools.cache
def language(key: str = UNASKED) -> Language:
    """Read a language.

    Args:
        key: a key of `LANGUAGES`.

    Returns:
        Its words.

    Raises:
        FormatError: there is no such language.
    """
    if key not in LANGUAGES:
        raise FormatError(
            f"There is no language {key!r} here; these are: {', '.join(LANGUAGES)}."
        )
    file = files("strikebridge.reports").joinpath("languages", f"{key}.toml")
    document = tomllib.loads(file.read_text(encoding="utf-8"))
    reasons = document.pop("reasons")
    return Language(key, dict(_flat(document, "")), reasons)


def _flat(table: Mapping[str, object], before: str) -> list[tuple[str, str]]:
    """Lay nested tables out as dotted keys."""
    found: list[tuple[str, str]] = []
    for name, value in table.items():
        key = f"{before}{name}"
        found += _flat(value, f"{key}.") if isinstance(value, dict) else [(key, str(value))]
    return found


@functools.cache
def _matcher(pattern: str) -> re.Pattern[str]:
    """Make an expression of words with gaps."""
    parts = re.split(r"\{(\w+)\}", pattern)
    return re.compile(
        "".join(
            f"(?P<{part}>.+?)" if i % 2 else re.escape(part) for i, part in enumerate(parts)
        )
    )
