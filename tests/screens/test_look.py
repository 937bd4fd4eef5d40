import itertools

import pytest

from strikebridge.screens.look import (
    DARK,
    HATCHES,
    LIGHT,
    NUMBER_ARC_MINUTES,
    OKABE_ITO,
    SCHEMES,
    Scheme,
    State,
    contrast,
    height_px,
    luminance,
)
from strikebridge.screens.wall_layout import NUMBER_CAP


def test_luminance_refuses_what_is_no_colour() -> None:
    with pytest.raises(ValueError, match="#RRGGBB"):
        luminance("red")


@pytest.mark.parametrize("scheme", SCHEMES.values(), ids=lambda scheme: scheme.key)
def test_number_and_quiet_text_stand_out(scheme: Scheme) -> None:
    assert contrast(scheme.ink, scheme.ground) >= 7.0
    assert contrast(scheme.quiet, scheme.ground) >= 7.0
    # the block against its lane: WCAG 2.2, 1.4.11, non-text contrast
    for state in (State.REST, State.PUSH, State.THERE, State.OVER):
        if scheme is DARK:
            assert contrast(scheme.states[state], scheme.panel) >= 3.0
        assert contrast(scheme.states[state], scheme.ground) >= 3.0


def test_strong_colours_are_from_the_set() -> None:
    for scheme in (DARK, LIGHT):
        for state in (State.REST, State.PUSH, State.THERE, State.OVER):
            assert scheme.states[state] in OKABE_ITO


@pytest.mark.parametrize("scheme", SCHEMES.values(), ids=lambda scheme: scheme.key)
def test_states_of_another_colour_have_another_hatch(scheme: Scheme) -> None:
    for one, other in itertools.combinations(State, 2):
        if scheme.states[one] != scheme.states[other]:
            assert HATCHES[one] is not HATCHES[other]


def test_number_is_laid_out_high_enough_for_four_metres() -> None:
    assert height_px(NUMBER_ARC_MINUTES, 1.0) <= NUMBER_CAP
