"""Every language says everything, with the same gaps, and knows every stored reason."""

import ast
import re
from pathlib import Path

import pytest

import strikebridge
from strikebridge.errors import FormatError
from strikebridge.reports.language import LANGUAGES, UNASKED, language
from strikebridge.session.exercises import EXERCISES

PACKAGE = Path(strikebridge.__file__).parent
OTHERS = [key for key in LANGUAGES if key != UNASKED]


def gaps(sentence: str) -> set[str]:
    return set(re.findall(r"\{(\w+)\}", sentence))


@pytest.mark.parametrize("key", OTHERS)
def test_no_sentence_is_missing_and_none_is_too_many(key: str) -> None:
    assert language(key).sentences.keys() == language().sentences.keys()
    assert language(key).reasons.keys() == language().reasons.keys()


@pytest.mark.parametrize("key", OTHERS)
def test_every_sentence_has_the_gaps_of_the_english_one(key: str) -> None:
    english, other = language(), language(key)
    for name, sentence in english.sentences.items():
        assert gaps(other.sentences[name]) == gaps(sentence), name
    for pattern, words in other.reasons.items():
        assert gaps(words) == gaps(pattern)


@pytest.mark.parametrize("key", OTHERS)
def test_it_is_another_language_throughout(key: str) -> None:
    """A sentence of several words that is the same as the English one was left untranslated."""
    english, other = language(), language(key)
    same = {
        name
        for name, sentence in english.sentences.items()
        if other.sentences[name] == sentence
        and len(re.findall(r"[a-z]{3,}", re.sub(r"\{\w+\}", "", sentence))) > 1
    }
    assert same == set()
    assert not {pattern for pattern, words in other.reasons.items() if words == pattern}


def stored_reasons() -> set[str]:
    """Find every reason for withholding in the code of the measures, gaps filled with a 7."""
    found = set()
    for file in (PACKAGE / "measures").glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
                continue
            if node.func.id != "Withheld" or not node.args:
                continue
            text = node.args[0]
            if isinstance(text, ast.Constant):
                found.add(str(text.value))
            if isinstance(text, ast.JoinedStr):
                found.add(
                    "".join(
                        str(part.value) if isinstance(part, ast.Constant) else "7"
                        for part in text.values
                    )
                )
    return found


@pytest.mark.parametrize("key", LANGUAGES)
def test_every_reason_of_the_measures_is_known(key: str) -> None:
    reasons = stored_reasons()
    assert len(reasons) >= 15
    for reason in reasons:
        said = language(key).reason(reason)
        assert (said == reason) == (key == UNASKED), reason
        assert said.count("7") == reason.count("7")


@pytest.mark.parametrize("key", LANGUAGES)
def test_every_exercise_has_a_name(key: str) -> None:
    for exercise in EXERCISES.values():
        said = language(key).say(f"exercise.{exercise.key}")
        assert (said == exercise.name) == (key == UNASKED)


def test_what_is_not_known_is_said_as_it_was_stored() -> None:
    german = language("de")
    assert german.reason("the moon was full") == "the moon was full"
    assert german.named("word", "odd") == "odd"
    assert german.named("word", "up") == "sicher"


def test_a_number_chooses_the_sentence() -> None:
    assert language().count("athlete.sessions", 1) == "1 session"
    assert language().count("athlete.sessions", 4) == "4 sessions"


def test_a_language_that_is_not_here_is_named_with_those_that_are() -> None:
    with pytest.raises(FormatError, match=r"no language 'tlh'.*en, de"):
        language("tlh")


def test_a_gap_that_is_left_open_is_no_sentence() -> None:
    with pytest.raises(KeyError):
        language().say("athlete.sessions.one")
