"""Exercises, hands and set-ups by their names in the language of the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.reports.standing import Club, Standing
    from strikebridge.reports.wording import Wording


def punch_words(exercise: str, hand: str, club: Club, wording: Wording) -> str:
    """Name an exercise and the hand, such as `rear straight, right`.

    Args:
        exercise: key of the exercise.
        hand: `left`, `right`, or empty where both work.
        club: names of the coach's own exercises.
        wording: language.
    """
    words = wording.exercise(exercise, club.names.get(exercise))
    if not hand:
        return words
    say = wording.language.say
    return say("punch.with_hand", exercise=words, hand=say(f"hand.{hand}"))


def standing_words(standing: Standing, club: Club, wording: Wording) -> str:
    """Name what an athlete did, with the letter of the set-up where there are several."""
    words = punch_words(standing.like.exercise, standing.like.hand, club, wording)
    if not standing.letter:
        return words
    say = wording.language.say
    return say("punch.with_setup", exercise=words, letter=standing.letter)


def capital(words: str) -> str:
    """Begin with a capital, as a row or a sentence does."""
    return words[:1].upper() + words[1:]


def setup_words(setup: RigSetup | None, wording: Wording) -> str:
    """Say how wall and fist were set up.

    Args:
        setup: None where nothing was noted.
        wording: language.

    Returns:
        Such as `pad 1.40 m high, 0.60 m away, ball, wrap`.
    """
    say = wording.language.say
    if setup is None:
        return say("setup.none")
    parts = []
    if setup.pad_height_m is not None:
        parts.append(say("setup.pad_height", m=wording.tick(setup.pad_height_m, 2)))
    if setup.distance_m is not None:
        parts.append(say("setup.distance", m=wording.tick(setup.distance_m, 2)))
    parts += [
        say(f"setup.{one.value}")
        for one in (setup.pad, setup.cover, setup.fist, setup.feet)
        if one is not None
    ]
    if setup.elbow_deg is not None:
        parts.append(say("setup.elbow", deg=wording.tick(setup.elbow_deg)))
    return ", ".join(parts) or say("setup.none")
