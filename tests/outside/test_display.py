"""Contrast, sizes and colours of the screens against published figures."""

from __future__ import annotations

import math

import pytest

from strikebridge.screens.look import (
    BLACK,
    BLUE,
    BLUISH_GREEN,
    METRES_PER_INCH,
    ORANGE,
    REDDISH_PURPLE,
    SKY_BLUE,
    VERMILLION,
    YELLOW,
    contrast,
    height_px,
    luminance,
)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        # formula of WCAG 2.2; ratios worked out from it by hand beforehand
        ("#000000", "#FFFFFF", 21.0),
        ("#767676", "#FFFFFF", 4.5422),
        ("#777777", "#FFFFFF", 4.4781),
        ("#595959", "#FFFFFF", 7.0047),
        ("#0000FF", "#FFFFFF", 8.5925),
        ("#FF0000", "#FFFFFF", 3.9985),
        ("#0000FF", "#FF0000", 2.1489),
        ("#FFFF00", "#000000", 19.5560),
        ("#949494", "#FFFFFF", 3.0335),
        ("#00FF00", "#FFFFFF", 1.3722),
    ],
)
def test_contrast_of_wcag(one: str, other: str, ratio: float) -> None:
    assert contrast(one, other) == pytest.approx(ratio, abs=6e-5)
    assert contrast(other, one) == contrast(one, other)


def test_luminance_of_pure_colours() -> None:
    # WCAG 2.2, definition of relative luminance: the weights of the primaries
    assert luminance("#FF0000") == pytest.approx(0.2126)
    assert luminance("#00FF00") == pytest.approx(0.7152)
    assert luminance("#0000FF") == pytest.approx(0.0722)


@pytest.mark.parametrize(
    ("colour", "on_white", "on_black"),
    [
        # the set of Okabe and Ito (2008); ratios worked out beforehand with the WCAG formula
        (BLACK, 21.00, 1.00),
        (ORANGE, 2.25, 9.32),
        (SKY_BLUE, 2.31, 9.10),
        (BLUISH_GREEN, 3.42, 6.14),
        (YELLOW, 1.32, 15.88),
        (BLUE, 5.19, 4.05),
        (VERMILLION, 3.87, 5.43),
        (REDDISH_PURPLE, 3.06, 6.86),
    ],
)
def test_okabe_ito_set(colour: str, on_white: float, on_black: float) -> None:
    assert contrast(colour, "#FFFFFF") == pytest.approx(on_white, abs=0.006)
    assert contrast(colour, "#000000") == pytest.approx(on_black, abs=0.006)


@pytest.mark.parametrize(
    ("minutes", "metres", "millimetres"),
    [
        # 2 d tan(angle / 2), the rule of ISO 9241-303 and NUREG-0700 for character height;
        # heights worked out beforehand, to 0.1 mm
        (16, 0.6, 2.8),
        (16, 10.0, 46.5),
        (20, 3.0, 17.5),
        (22, 5.0, 32.0),
        (24, 1.0, 7.0),
        (24, 10.0, 69.8),
    ],
)
def test_height_of_characters(minutes: float, metres: float, millimetres: float) -> None:
    diagonal_in = 14.0
    screen_mm = diagonal_in * METRES_PER_INCH * 1000.0 * 9.0 / math.hypot(16.0, 9.0)
    found = height_px(minutes, screen_mm, distance_m=metres, diagonal_in=diagonal_in)
    assert found == pytest.approx(millimetres, abs=0.051)
