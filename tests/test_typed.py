"""Typed numbers: the same reps live, replayed and analysed; in window and terminal."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from functools import partial
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from strikebridge.analysis import analyse_file, collect
from strikebridge.boards.address import open_link
from strikebridge.cli import run
from strikebridge.errors import AddressError
from strikebridge.glance import Phase
from strikebridge.recording import RecordingReader
from strikebridge.reports.analysis_json import analysis_document
from strikebridge.samples import Effort, Event, Prescription, Rep, Status
from strikebridge.screens.items import Words
from strikebridge.screens.window import Window
from strikebridge.session.conductor import Key, Plan
from strikebridge.station import Station, StationSetup
from strikebridge.stream_setup import Setup
from strikebridge.typed import typed, typed_rep
from strikebridge.typed_station import TypedStation
from strikebridge.units import ForceUnit
from tests.running import WITHIN_S, running

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from strikebridge.pipeline import Outcome

QUICK = Plan(Prescription(Effort.MAXIMAL, 0.5), result_s=45.0, rest_s=0.3)  # until a key
KEYS = {
    **{str(n): Key(str(n)) for n in range(10)},
    ".": Key.POINT,
    "<": Key.RUB,
    "!": Key.ENTER,
}


def test_a_typed_hold_is_stored_as_what_it_is() -> None:
    event = typed(3, 41.5, 0.1, ForceUnit.KG, go_us=4_000_000, now_us=9_000_000)
    rep = typed_rep(event, Prescription(Effort.SUBMAXIMAL, 5.0, (300.0, 400.0)))
    mean = rep.measures["hold_mean"]
    # kilogram-force: standard gravity 9.806 65 m/s2 (3rd CGPM, 1901)
    assert mean.value == pytest.approx(41.5 * 9.80665)
    # a step of 0.1 kg is a rectangle: 0.1 / (2 sqrt 3) (JCGM 100:2008, 4.3.7)
    assert mean.u_own == pytest.approx(0.1 * 9.80665 / 12**0.5)
    assert mean.u_common == pytest.approx(0.02 * 41.5 * 9.80665 / 3**0.5)
    assert mean.status is Status.COARSE
    others = [value for name, value in rep.measures.items() if name != "hold_mean"]
    assert {value.status for value in others} == {Status.WITHHELD}
    assert all(value.value is None and value.reason for value in others)
    assert (rep.hold.number, rep.hold.onset_s, rep.hold.release_s) == (3, 4.0, 9.0)
    assert (rep.verdict.rise, rep.verdict.hold) == ("not measurable", "outside band")
    free = typed_rep(event, Prescription())
    assert (free.hold.release_s, free.verdict.hold) == (9.0, "not measurable")


@pytest.mark.parametrize("address", ["typed:x", "typed:?unit=stone", "typed:?baud=9600"])
def test_what_is_no_address_is_said(address: str) -> None:
    with pytest.raises(AddressError):
        open_link(address)


class Coach:
    """Presses keys and waits for what comes of them."""

    def __init__(self, station: Station) -> None:
        self.station = station

    def until(self, is_so: Callable[[], bool]) -> None:
        end_s = time.monotonic() + WITHIN_S
        while not is_so():
            assert time.monotonic() < end_s
            assert not self.station.wait(0.01)

    def hold(self) -> None:
        self.station.press(Key.GO)
        self.until(lambda: self.station.glance().entry is not None)

    def type(self, keys: str) -> None:
        for key in keys:
            self.station.press(KEYS[key])


@pytest.mark.slow
def test_a_set_of_typed_holds_is_the_same_live_replayed_and_analysed(tmp_path: Path) -> None:
    recording = tmp_path / "typed.jsonl"
    outcomes: list[Outcome] = []
    setup = StationSetup("typed:?unit=lb", QUICK, recording)
    station = TypedStation(setup, on_outcome=outcomes.append)
    with running(station):
        coach = Coach(station)
        coach.type("5")  # nobody asked: nothing happens
        coach.hold()
        assert station.glance().phase is Phase.HOLD
        assert station.glance().entry_unit is ForceUnit.LB
        coach.type("91!")
        coach.until(lambda: station.glance().phase is Phase.RESULT)
        glance = station.glance()
        assert glance.peak_N == pytest.approx(91 * 0.45359237 * 9.80665)
        assert glance.peak_u95_N is not None
        coach.hold()
        coach.type("19!")
        coach.until(lambda: station.glance().question != "")
        assert "19 lb after 91 lb?" in station.glance().question
        coach.type("<<94!")
        coach.until(lambda: len(outcomes) == 2)
        coach.until(lambda: station.glance().phase is Phase.RESULT)
        coach.type("<")  # a slip: 94 was 95
        coach.until(lambda: station.glance().entry == "94")
        coach.type("<5!")
        coach.until(lambda: len(outcomes) == 3)
        assert station.glance().rep_number == 2
    assert station.error is None
    assert station.pipeline is not None
    live = analysis_document(collect(recording.name, station.pipeline, outcomes))
    _judge(recording, live)


def _judge(recording: Path, live: Mapping[str, object]) -> None:
    """Analysis and replay give what the coach saw; every number typed is in the recording."""
    found = analyse_file(recording, Setup())
    assert analysis_document(found) == live
    kept = [rep.measures["hold_mean"].value for rep in found.reps]
    assert kept == pytest.approx([lb * 0.45359237 * 9.80665 for lb in (91.0, 95.0)])
    assert [rep.prescription.hold_s for rep in found.reps] == [0.5, 0.5]
    replayed: list[Outcome] = []
    replay = Station(StationSetup(f"replay:{recording}?speed=max"), on_outcome=replayed.append)
    replay.start()
    assert replay.wait(WITHIN_S)
    replay.stop()
    numbers = [rep.hold.number for rep in replayed if isinstance(rep, Rep)]
    assert numbers == [1, 2, 2]
    events = [r for r in RecordingReader(recording) if isinstance(r, Event)]
    assert [e.detail["value"] for e in events if e.kind == "typed"] == [91.0, 94.0, 95.0]


@pytest.mark.slow
def test_nobody_is_hurried_and_redo_takes_a_typed_rep_back() -> None:
    outcomes: list[Outcome] = []
    station = TypedStation(StationSetup("typed:", QUICK), on_outcome=outcomes.append)
    with running(station):
        coach = Coach(station)
        coach.hold()
        asked_s = station.seconds
        # longer than a no-show is waited for
        coach.until(lambda: station.seconds > asked_s + 4.0)
        assert station.glance().entry == ""
        coach.type("41!")
        coach.until(lambda: len(outcomes) == 1)
        station.press(Key.REDO)
        coach.until(lambda: station.glance().phase is Phase.COUNT_IN)
        station.press(Key.STOP)  # a pain: called off, and begun again
        coach.until(lambda: station.glance().phase is Phase.READY)
        coach.hold()
        station.press(Key.STOP)
        coach.until(lambda: station.glance().phase is Phase.READY)
        coach.hold()
        coach.type("42")
        station.press(Key.GO)  # a clicker closes the number
        coach.until(lambda: len(outcomes) == 2)
    assert [rep.hold.number for rep in outcomes if isinstance(rep, Rep)] == [1, 1]
    assert station.glance().rep_number == 1


@pytest.mark.screen
@pytest.mark.slow
def test_in_the_window_with_real_keys(qtbot: QtBot) -> None:
    outcomes: list[Outcome] = []
    station = TypedStation(StationSetup("typed:", QUICK), on_outcome=outcomes.append)
    window = Window(station)
    qtbot.addWidget(window)
    window.show()
    with running(station):

        def until(is_so: Callable[[], bool]) -> None:
            qtbot.waitUntil(is_so)

        until(lambda: station.glance().phase is Phase.READY)
        QTest.keyClick(window, Qt.Key.Key_Space)
        until(lambda: station.glance().entry is not None)
        QTest.keyClicks(window, "4,15")
        until(lambda: station.glance().entry == "4.15")
        for _ in range(3):
            QTest.keyClick(window, Qt.Key.Key_Backspace)
        QTest.keyClicks(window, "1.5")
        # the full stop writes, and does not stop
        until(lambda: station.glance().entry == "41.5")
        QTest.keyClick(window, Qt.Key.Key_Return)
        until(lambda: len(outcomes) == 1)
        until(lambda: station.glance().phase is Phase.RESULT)
        QTest.keyClick(window, Qt.Key.Key_Backspace)
        until(lambda: station.glance().entry == "41.5")
        QTest.keyClick(window, Qt.Key.Key_Backspace)
        QTest.keyClicks(window, "7")
        QTest.keyClick(window, Qt.Key.Key_Enter)
        until(lambda: len(outcomes) == 2)
    last = outcomes[-1]
    assert isinstance(last, Rep)
    assert last.measures["hold_mean"].value == pytest.approx(41.7 * 9.80665)


@pytest.mark.screen
@pytest.mark.slow
def test_a_number_that_cannot_be_is_refused_in_the_window(qtbot: QtBot) -> None:
    outcomes: list[Outcome] = []
    station = TypedStation(StationSetup("typed:", QUICK), on_outcome=outcomes.append)
    window = Window(station)
    qtbot.addWidget(window)
    window.show()
    with running(station):

        def until(is_so: Callable[[], bool]) -> None:
            qtbot.waitUntil(is_so)

        def is_asked(words: str) -> bool:
            picture = window.wall._picture
            items = () if picture is None else picture.items
            said = [item.text for item in items if isinstance(item, Words)]
            return words in station.glance().question and any(words in text for text in said)

        until(lambda: station.glance().phase is Phase.READY)
        QTest.keyClick(window, Qt.Key.Key_Space)
        until(lambda: station.glance().entry is not None)
        for text, words in (("4150", "4150 kg cannot be"), ("0.0", "0.0 kg is no hold")):
            QTest.keyClicks(window, text)
            # however often it is entered
            QTest.keyClick(window, Qt.Key.Key_Return)
            QTest.keyClick(window, Qt.Key.Key_Return)
            until(partial(is_asked, words))
            for _ in text:
                QTest.keyClick(window, Qt.Key.Key_Backspace)
            until(lambda: not station.glance().question)
        assert outcomes == []
        QTest.keyClicks(window, "41.5")
        QTest.keyClick(window, Qt.Key.Key_Return)
        until(lambda: len(outcomes) == 1)


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_in_the_terminal(tmp_path: Path) -> None:
    """The command as a process of its own: a slip, an impossible number, a correction."""
    recording = tmp_path / "a.jsonl"
    lines = ["u", "", "forty", "4150", "41,8", "", "14", "", "u", "42.1", "q"]
    process = subprocess.run(
        [
            *(sys.executable, "-m", "strikebridge", "record", "typed:", "--hold-s", "0.5"),
            *("--output", str(recording), "--json"),
        ],
        input="\n".join(lines) + "\n",
        capture_output=True,
        text=True,
        timeout=WITHIN_S,
        check=True,
    )
    said = process.stderr
    assert "There is no number yet." in said
    assert "Type a number, such as 41.5." in said
    assert "4150 kg cannot be. Type it again." in said
    assert "14 kg after 41.8 kg? Enter again if it is right." in said
    assert said.index("3\n2\n1\nhold 1\n") < said.index("What did the scale show, in kg?")
    assert json.loads(process.stdout)["bytes"] == 0
    reps = analyse_file(recording, Setup()).reps
    kept = [rep.measures["hold_mean"].value for rep in reps]
    assert kept == pytest.approx([41.8 * 9.80665, 42.1 * 9.80665])


def test_a_length_does_not_go_with_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:

    words = ["record", "typed:", "--output", str(tmp_path / "a.jsonl"), "--seconds", "3"]
    assert run(words) == 2
    assert "ends with q" in capsys.readouterr().err
