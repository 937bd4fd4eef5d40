"""A board on a real port is pulled out of a session in a window, and plugged in again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from strikebridge.calibration.apply import Calibration
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from tests.rig import foreign_rig
from tests.screens.session_drive import Driver, at, lead
from tests.screens.test_session_window import SET

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

pytestmark = [pytest.mark.screen, pytest.mark.slow, pytest.mark.timeout(240)]


def test_the_wall_says_what_is_lost_and_goes_on_with_the_same_athlete(
    qtbot: QtBot, tmp_path: Path
) -> None:
    people = saltmarsh_quay()[:2]
    said: list[str] = []
    with foreign_rig(tmp_path) as rig:
        driver = Driver(
            [
                (at("ready", people[0].name), lambda _: rig.pull()),
                (at("lost", people[0].name), lambda w: said.append(_words(w))),
                (at("lost"), lambda _: rig.plug()),
                (at("ready", people[0].name), lambda window: window.close()),
            ]
        )
        by_hand = Calibration.by_hand(9.80665 / 21_474.8, -31_000.0)
        code, _ = lead(
            tmp_path, people, SET, driver, board=f"serial:{rig.path}", by_hand=by_hand
        )
    assert driver.failure == ""
    assert code == 0
    assert "board lost" in driver.seen
    assert "saved" in said[0]
    assert f"then {people[0].name}, rear straight" in said[0]


def _words(window: object) -> str:
    from strikebridge.screens.items import Words  # noqa: PLC0415 - only here
    from strikebridge.screens.window import Window  # noqa: PLC0415 - only here

    assert isinstance(window, Window)
    picture = window.wall._picture
    assert picture is not None
    return " ".join(one.text for one in picture.items if isinstance(one, Words))
