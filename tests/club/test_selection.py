"""What reps share, and the selection of all that share it."""

from dataclasses import replace

from strikebridge.club.selection import NO_SETUP, Like, like_of, maximal_of, selection_of
from strikebridge.samples import Effort, Prescription
from tests.store.made import INES, SETUP, rep


def test_a_rep_is_compared_with_those_of_the_same_test() -> None:
    like = like_of(rep(1))
    assert like == Like(INES.id, "rear-straight", "right", SETUP.key, Effort.MAXIMAL)
    assert like_of(replace(rep(2), turn=7)) == like
    meant = selection_of(like)
    assert (meant.athlete, meant.exercise, meant.setup) == (INES.id, "rear-straight", SETUP.key)
    assert (meant.hand, meant.effort) == (rep(1).hand, Effort.MAXIMAL)
    assert (meant.since, meant.until) == (None, None)


def test_what_was_not_noted_is_compared_with_what_was_not_noted() -> None:
    like = like_of(replace(rep(1), hand=None, setup=None))
    assert (like.hand, like.setup) == ("", None)
    meant = selection_of(like)
    assert (meant.hand, meant.setup) == (None, NO_SETUP)


def test_a_submaximal_rep_stands_beside_the_maximal_ones_of_its_test() -> None:
    asked = Prescription(Effort.SUBMAXIMAL, 5.0, (300.0, 350.0))
    like = like_of(replace(rep(1), prescription=asked))
    assert like.effort is Effort.SUBMAXIMAL
    assert maximal_of(like) == like_of(rep(1))
