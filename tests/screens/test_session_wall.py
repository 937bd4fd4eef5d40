"""The wall of a session: each scene readable with the longest words, one thing biggest."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from strikebridge.desk import BREATH
from strikebridge.glance import Glance, Phase
from strikebridge.screens.items import Box, Number, Words
from strikebridge.screens.keys import ON_THE_WALL, Own, session_footer
from strikebridge.screens.strokes import LEAST_PX, place_number, place_words
from strikebridge.screens.wall_model import WallModel
from strikebridge.screens.wall_scene import WITH_LANE, Scene, scene_of
from strikebridge.session.group_table import Stage
from tests.screens.session_glances import (
    ADVICE,
    DRILL,
    HELD,
    LOST,
    QUESTIONS,
    READY,
    SESSION_GLANCES,
    TURN,
)

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from strikebridge.screens.items import Item, Picture
    from strikebridge.screens.session_wall import Question

pytestmark = pytest.mark.screen
SIZES = [(1024, 600), (1366, 768), (1920, 1080)]
KEYS = session_footer(ON_THE_WALL | {Own.CHECK})


def look(
    glance: Glance,
    size: tuple[int, int] = (1366, 768),
    question: Question | None = None,
    *,
    has_notes: bool = True,
) -> Picture:
    model = WallModel(KEYS)
    model.question, model.has_notes = question, has_notes
    return model.look(glance, size, 0.0)


def texts(glance: Glance, **more: bool) -> set[str]:
    return {item.text for item in look(glance, **more).items if isinstance(item, Words)}  # type: ignore[arg-type] # has_notes alone


def boxes_of(picture: Picture) -> list[Box]:
    live = picture.live
    boxes = [item.box for item in picture.items]
    boxes += [brick.box for brick in live.bricks]
    if live.lane is not None:
        boxes.append(live.lane.box)
    return boxes + ([] if live.trace_box is None else [live.trace_box])


def check(picture: Picture, size: tuple[int, int]) -> None:
    for item in picture.items:
        assert item.box.x >= 0.0
        assert item.box.right <= size[0]
        assert item.box.bottom <= size[1]
        if isinstance(item, Words):
            em, lines = place_words(item)
            assert em > LEAST_PX, item.text
            assert " ".join(line.text for line in lines).split() == item.text.split()
        elif isinstance(item, Number):
            em, _ = place_number(item)
            assert em > LEAST_PX
    for one, other in itertools.combinations(boxes_of(picture), 2):
        assert not one.overlaps(other), (one, other)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("name", SESSION_GLANCES)
def test_nothing_is_clipped_or_lies_on_anything_else(
    qtbot: QtBot, name: str, size: tuple[int, int]
) -> None:
    check(look(SESSION_GLANCES[name], size), size)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("name", QUESTIONS)
def test_a_question_can_be_read_whole(qtbot: QtBot, name: str, size: tuple[int, int]) -> None:
    picture = look(HELD, size, QUESTIONS[name])
    check(picture, size)
    assert picture.live.lane is None
    said = {item.text for item in picture.items if isinstance(item, Words)}
    assert {QUESTIONS[name].what, *QUESTIONS[name].options} <= said


def cap_px(item: Item) -> float:
    """How large something is drawn: the em size of what has letters, 0 of a fist."""
    if isinstance(item, Words):
        return place_words(item)[0]
    return place_number(item)[0] if isinstance(item, Number) else 0.0


@pytest.mark.parametrize(
    ("name", "biggest"),
    [
        ("turn, resting", "Ines Halloran"),
        ("turn, ready", "Ines Halloran"),
        ("turn, timed", "Ines Halloran"),
        ("counted in", "3"),
        ("hold", "81.4"),
        ("outcome", "84.6"),
        ("outcome, nobody pushed", "No hold seen"),
        ("drill", "42"),
        ("paused", "Paused"),
        ("stopped for pain", "Stopped for pain"),
        ("over", "Done"),
        ("board lost", "The board went quiet 12 s ago."),
    ],
)
def test_one_thing_is_biggest(qtbot: QtBot, name: str, biggest: str) -> None:
    items = sorted(look(SESSION_GLANCES[name]).items, key=cap_px)
    first, second = items[-1], items[-2]
    assert isinstance(first, (Words, Number))
    assert first.text == biggest
    assert cap_px(first) >= 1.3 * cap_px(second)


def test_a_name_can_be_read_from_across_the_room(qtbot: QtBot) -> None:
    """A name of usual length at 16 arc minutes (ISO 9241-303) from six metres."""
    from strikebridge.screens.look import (  # noqa: PLC0415 - one figure of theirs
        READING_ARC_MINUTES,
        height_px,
    )
    from strikebridge.screens.strokes import cap_share  # noqa: PLC0415 - likewise

    name = next(
        item
        for item in look(TURN).items
        if isinstance(item, Words) and item.text == TURN.athlete
    )
    em, _ = place_words(name)
    least = height_px(READING_ARC_MINUTES, 768, distance_m=6.0)
    assert em * cap_share(is_bold=True) >= least


def test_the_turn_says_what_to_chase_whence_and_who_is_next(qtbot: QtBot) -> None:
    said = texts(TURN)
    tie = "\u00a0"
    assert f"Reach 88{tie}kg (own best, 24 Nov); last rep 84{tie}kg" in said
    assert "then Tobias Merrow" in said
    assert "rest, 18 s left" in said
    assert "set 1 of 3, rep 2 of 5" in said
    assert f"Mind the shoulder. {BREATH}" in said
    assert "now 1.2 kg" in texts(READY)  # who leans is seen before the count
    assert "near the rating" in texts(replace(READY, strain="near the rating"))
    warning = "Cell overloaded: verify first"
    assert warning in texts(replace(READY, warning=warning))
    assert "rest" in texts(replace(TURN, seconds_left=0.0))


def test_what_is_on_record_of_health_stays_off_a_wall_beside_a_coachs_screen(
    qtbot: QtBot,
) -> None:
    said = texts(TURN, has_notes=False)
    assert BREATH in said
    assert not any("shoulder" in text for text in said)


def test_no_number_is_asked_for_where_it_is_only_timed(qtbot: QtBot) -> None:
    said = texts(SESSION_GLANCES["turn, timed"])
    assert "3 s, timed: no number asked for" in said
    assert not any("Reach" in text or "hard" in text for text in said)
    counted = replace(DRILL, phase=Phase.COUNT_IN, stage=Stage.COUNT_IN.value)
    assert not any("hard" in text for text in texts(counted))


def test_who_holds_below_all_out_is_never_told_as_hard_as_you_can(qtbot: QtBot) -> None:
    said = texts(SESSION_GLANCES["turn, band by feel"])
    assert any(text.startswith("Hold it, not all out (70 to 80 % by feel") for text in said)
    assert not any("hard" in text for text in said)


SCENES = {
    "turn, resting": Scene.TURN,
    "counted in": Scene.COUNTED,
    "hold": Scene.HOLD,
    "outcome": Scene.OUTCOME,
    "outcome, nobody pushed": Scene.MISSED,
    "drill": Scene.DRILL,
    "drill, board lost": Scene.DRILL,
    "drilled": Scene.DRILLED,
    "paused": Scene.PAUSED,
    "stopped for pain": Scene.STOPPED,
    "board lost": Scene.LOST,
    "over": Scene.OVER,
}


@pytest.mark.parametrize("name", SCENES)
def test_the_scene_follows_the_stage(name: str) -> None:
    assert scene_of(SESSION_GLANCES[name]) is SCENES[name]


def test_what_may_not_be_missed_comes_first() -> None:
    lost = replace(HELD, phase=Phase.WAITING, trouble=LOST)
    assert scene_of(lost) is Scene.LOST
    assert scene_of(replace(lost, advice=ADVICE)) is Scene.STOPPED
    assert scene_of(replace(lost, advice=ADVICE), is_asked=True) is Scene.ASKED
    assert scene_of(replace(lost, stage=Stage.OVER.value)) is Scene.OVER
    led = replace(READY, peak_N=120.0)
    assert scene_of(led) is Scene.HOLD  # the athlete leads: the push itself begins it
    assert scene_of(led) in WITH_LANE


@pytest.mark.parametrize("stage", Stage)
@pytest.mark.parametrize("phase", Phase)
def test_whatever_comes_together_is_a_scene_that_can_be_shown(
    qtbot: QtBot, stage: Stage, phase: Phase
) -> None:
    """Trouble and stage are of two rooms, and either may be a moment ahead of the other."""
    glance = replace(HELD, stage=stage.value, phase=phase)
    for one in (glance, replace(glance, peak_N=None), replace(glance, is_timed=True)):
        check(look(one), (1366, 768))
