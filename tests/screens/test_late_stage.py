from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from strikebridge.errors import BoardLostError
from strikebridge.glance import Phase
from strikebridge.screens.late_stage import LateStage
from strikebridge.session.conductor import Key
from strikebridge.units import ForceUnit
from tests.running import WITHIN_S
from tests.screens.desks import FULL
from tests.screens.glances import HOLDING
from tests.screens.test_window import FakeStation


class Workshop:
    """Make a station when told to, on whatever thread asks."""

    def __init__(self) -> None:
        self.may = threading.Event()
        self.station = FakeStation(HOLDING)
        self.made = threading.Event()

    def make(self) -> FakeStation:
        assert self.may.wait(WITHIN_S)
        self.made.set()
        return self.station


def stage_of(shop: Workshop) -> LateStage:
    return LateStage(shop.make, ForceUnit.LB)


def settle(stage: LateStage) -> None:
    stage._thread.join(WITHIN_S)
    assert not stage._thread.is_alive()


def test_waits_in_the_unit_asked_for_until_the_stage_is_there() -> None:
    shop = Workshop()
    stage = stage_of(shop)
    stage.start()
    assert (stage.glance().phase, stage.glance().unit) == (Phase.WAITING, ForceUnit.LB)
    assert stage.error is None
    shop.may.set()
    settle(stage)
    assert stage.glance() is HOLDING
    stage.stop()
    assert shop.station.calls == ["start", "stop"]


def test_keys_and_the_bell_are_handed_on_in_order() -> None:
    shop, rings = Workshop(), list[object]()
    stage = stage_of(shop)
    stage.listen(lambda: rings.append(stage.glance()))
    stage.press(Key.GO)
    stage.press(Key.REDO)
    stage.start()
    stage.start()  # the second time does nothing
    shop.may.set()
    settle(stage)
    stage.press(Key.STOP)
    assert shop.station.keys == [Key.GO, Key.REDO, Key.STOP]
    newer = replace(HOLDING, newest_us=7)
    shop.station.put(newer)
    assert rings[-1] is newer
    stage.listen(rings.clear)
    shop.station.put(HOLDING)
    assert rings == []
    shop.station.error = BoardLostError("The plug was pulled.")
    assert stage.error is shop.station.error


def test_stopped_before_it_is_made_it_never_starts() -> None:
    shop = Workshop()
    stage = stage_of(shop)
    stage.start()
    stopper = threading.Thread(target=stage.stop)
    with stage._lock:
        stage._is_stopping = True
    stopper.start()
    shop.may.set()
    stopper.join(WITHIN_S)
    assert shop.made.is_set()
    assert shop.station.calls == []


def test_never_started_it_stops_at_once() -> None:
    stage_of(Workshop()).stop()


@pytest.mark.parametrize("is_listening", [True, False])
def test_a_stage_that_cannot_be_made_is_said(is_listening: bool) -> None:
    def make() -> FakeStation:
        raise BoardLostError("No such board.")

    rings: list[str] = []
    stage = LateStage(make, ForceUnit.KG)
    if is_listening:
        stage.listen(lambda: rings.append("ring"))
    stage.start()
    settle(stage)
    trouble = stage.glance().trouble
    assert trouble is not None
    assert trouble.what == "No such board."
    assert isinstance(stage.error, BoardLostError)
    assert rings == ["ring"] * is_listening


@pytest.mark.parametrize("where", ["listen", "press", "start"])
def test_a_stage_that_cannot_be_begun_is_said(
    where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise BoardLostError("It cannot be begun.")

    shop, rings = Workshop(), list[str]()
    monkeypatch.setattr(shop.station, where, refuse)
    stage = stage_of(shop)
    stage.listen(lambda: rings.append("ring"))
    stage.press(Key.GO)
    stage.start()
    shop.may.set()
    settle(stage)
    trouble = stage.glance().trouble
    assert trouble is not None
    assert trouble.what == "It cannot be begun."
    assert isinstance(stage.error, BoardLostError)
    assert rings == ["ring"]
    # the window goes on, and can be closed
    stage.press(Key.REDO)
    stage.stop()


def test_the_desk_is_empty_until_the_stage_is_there() -> None:
    shop = Workshop()
    shop.station.lies = FULL
    stage = stage_of(shop)
    assert stage.desk().attempts == ()
    stage.cue(1)  # nobody is there to be given one
    stage.start()
    shop.may.set()
    settle(stage)
    assert stage.desk() is FULL
    stage.cue(2)
    assert shop.station.cued == [2]
    stage.stop()
