"""A plate walk, live: real bytes through a real serial port, plates as they are asked for."""

import time
from collections import deque
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from strikebridge.acquisition import Stream
from strikebridge.analysis import analyse_file
from strikebridge.boards.address import make_decoder
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.certificate import Certificate, PlateRecord
from strikebridge.calibration.document import walk_certificate
from strikebridge.calibration.plate_walk import PlateWalk
from strikebridge.calibration.walk_analysis import analyse_walk
from strikebridge.calibration.walk_setup import WalkSetup
from strikebridge.calibration.walk_view import TakenPoint, WalkKey, WalkState, WalkView
from strikebridge.errors import BoardLostError
from strikebridge.intake import Intake
from strikebridge.recording import RecordingReader
from strikebridge.rig_station import RigStation
from strikebridge.samples import Chunk, Event, Quantity
from strikebridge.stream_setup import Setup
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2
from tests.cli.streams import simulated_recording
from tests.ptys import posix
from tests.rig import COUNTS_PER_KG, ForeignRig, foreign_rig
from tests.running import WITHIN_S, running

pytestmark = [posix, pytest.mark.timeout(240)]
PLATES = (
    PlateRecord("A", 20.0, 0.02),
    PlateRecord("B", 15.0, 0.02),
    PlateRecord("C", 10.0, 0.02),
)
POINTS = 7  # one walk up and down with three plates
WalkStation = RigStation[WalkKey, WalkView]


def station_of(
    address: str,
    recording: Path | None,
    *,
    is_hands_free: bool = False,
    is_patient: bool = True,
    plates: tuple[PlateRecord, ...] = PLATES,
    runs: int = 1,
) -> WalkStation:
    setup = WalkSetup(plates, runs=runs, exercises=1, is_hands_free=is_hands_free)
    stream = Stream(address, recording, is_patient=is_patient)
    return RigStation(stream, lambda quantity: PlateWalk(setup, quantity))


class Hand:
    """Do what the view says, as a coach would."""

    def __init__(self, station: WalkStation, rig: ForeignRig) -> None:
        self.station, self.rig = station, rig
        self.lies_kg = 0.0
        self._shown: deque[WalkView] = deque()
        station.listen(lambda: self._shown.append(station.view()))

    def go_on(
        self, is_there: Callable[[WalkView], bool], *, is_still: bool = False
    ) -> WalkView:
        """Wait for a view; put on and take off meanwhile, unless the hand is to keep still.

        Each view that was shown is looked at, however short it stood there.
        """
        end_s = time.monotonic() + WITHIN_S
        while True:
            has_ended = self.station.wait(0.01)
            while self._shown:
                if is_there(view := self._shown.popleft()):
                    return view
            view = self.station.view()
            assert not has_ended, (view, self.station.error)
            assert time.monotonic() < end_s, view
            if view.state is WalkState.WAITING and not is_still:
                self.lay(view.wanted_kg)

    def lay(self, kg: float) -> None:
        """Let so much lie on the rig."""
        if kg != self.lies_kg:
            self.lies_kg = kg
            self.rig.put(kg)

    def press(self, key: WalkKey, is_heard: Callable[[WalkView], bool]) -> WalkView:
        """Press a key, and touch no plate before it was heard."""
        self.station.press(key)
        return self.go_on(is_heard, is_still=True)


def bytes_in(recording: Path) -> bytes:
    records = RecordingReader(recording)
    return b"".join(record.data for record in records if isinstance(record, Chunk))


def events_in(recording: Path) -> list[Event]:
    return [record for record in RecordingReader(recording) if isinstance(record, Event)]


@pytest.mark.slow
def test_plates_put_on_and_taken_off_make_a_calibration(tmp_path: Path) -> None:
    """Another process is the rig; redo once; the gain is the one it was built with."""
    recording = tmp_path / "walk.jsonl"
    with foreign_rig(tmp_path) as rig:
        station = station_of(f"serial:{rig.path}", recording)
        with running(station):
            hand = Hand(station, rig)
            hand.go_on(lambda view: view.reading is not None)
            station.press(WalkKey.NEXT)
            hand.go_on(lambda view: len(view.points) == 2)
            hand.press(WalkKey.REDO, lambda view: len(view.points) == 1)
            view = hand.go_on(lambda view: view.state is WalkState.REVIEW)
            hand.press(WalkKey.NEXT, lambda view: view.state is WalkState.DONE)
    assert station.error is None
    assert len(view.points) == POINTS
    assert not view.remarks
    walk = station.led
    assert isinstance(walk, PlateWalk)
    result = analyse_walk(walk.walk_input())
    gain = COUNTS_PER_KG / STANDARD_GRAVITY_M_PER_S2
    assert result.fit.coefficients[1] == pytest.approx(
        gain, rel=6e-4
    )  # half a per mille creeps
    kinds = [event.kind for event in events_in(recording)]
    assert kinds.count("plate") == 3
    assert kinds.count("point") == POINTS + 1
    assert kinds.count("redone") == 1
    assert kinds[-1] == "finished"
    assert kinds.index("load") < kinds.index("point")


@pytest.mark.slow
def test_a_cable_pulled_midway_loses_nothing(tmp_path: Path) -> None:
    recording = tmp_path / "walk.jsonl"
    with foreign_rig(tmp_path) as rig:
        station = station_of(f"serial:{rig.path}", recording)
        with running(station):
            hand = Hand(station, rig)
            station.press(WalkKey.NEXT)
            before = hand.go_on(
                lambda view: len(view.points) == 3 and view.state is WalkState.TAKING
            )
            rig.pull()
            lost = hand.go_on(is_unplugged)
            assert lost.trouble is not None
            assert "What was taken so far is safe" in lost.trouble.advice
            # the point that was under way may have been taken before the cable was out
            assert len(lost.points) in (3, 4)
            rig.plug()
            back = hand.go_on(lambda view: view.trouble is None and view.reading is not None)
            assert is_kept(lost, back)
            hand.go_on(lambda view: view.state is WalkState.REVIEW)
            done = hand.press(WalkKey.NEXT, lambda view: view.state is WalkState.DONE)
    assert station.error is None
    assert len(done.points) == POINTS
    # nothing of what was taken is touched; how well it fits is judged anew with every point
    assert is_kept(before, lost)
    assert is_kept(lost, done)
    assert not done.remarks
    kinds = [event.kind for event in events_in(recording)]
    assert kinds.count("lost") == kinds.count("back") == 1


def is_unplugged(view: WalkView) -> bool:
    return view.trouble is not None and "unplugged" in view.trouble.what


def is_kept(before: WalkView, now: WalkView) -> bool:
    """Say whether every point of one view is in a later one, as it was taken."""
    taken = [*map(as_taken, before.points)]
    return [*map(as_taken, now.points)][: len(taken)] == taken


def as_taken(point: TakenPoint) -> TakenPoint:
    return replace(point, residual_kg=0.0, allowed_kg=0.0, remark="")


@pytest.mark.slow
def test_the_recording_of_a_walk_gives_the_same_points_again(tmp_path: Path) -> None:
    """Every byte is in it: the walk led by the recording takes what was taken live."""
    recording = tmp_path / "walk.jsonl"
    address = "simulated:?rig=plates&speed=60&seed=4"
    station = station_of(address, recording, is_hands_free=True)
    with running(station):
        assert station.wait(WITHIN_S)
    assert station.error is None
    live = station.view().points
    assert len(live) == POINTS
    assert station.bytes_recorded == len(bytes_in(recording))
    assert station.channels == 1
    assert station.identity is not None
    assert station.identity.board == "simulated-4"
    again = station_of(f"replay:{recording}?speed=max", None, is_hands_free=True)
    with running(again):
        assert again.wait(WITHIN_S)
    assert again.view().points == live


def test_a_board_that_is_not_waited_for_ends_it_with_the_reason(tmp_path: Path) -> None:
    with foreign_rig(tmp_path) as rig:
        station = station_of(f"serial:{rig.path}", None, is_patient=False)
        with running(station):
            hand = Hand(station, rig)
            hand.go_on(lambda view: view.reading is not None)
            rig.pull()
            assert station.wait(WITHIN_S)
    assert isinstance(station.error, BoardLostError)
    assert station.view().trouble is not None


def test_a_walk_can_be_ended_while_the_board_is_gone(tmp_path: Path) -> None:
    with foreign_rig(tmp_path) as rig:
        station = station_of(f"serial:{rig.path}", None)
        with running(station):
            hand = Hand(station, rig)
            hand.go_on(lambda view: view.reading is not None)
            rig.pull()
            hand.go_on(is_unplugged)
            station.press(WalkKey.NEXT)  # nobody is there to hear it
            station.end(WalkKey.CANCEL)
    assert station.view().state is WalkState.CANCELLED


def test_keys_wait_for_the_first_reading_but_cancel_does_not(tmp_path: Path) -> None:
    station = station_of("simulated:?rig=plates&speed=0.01", None)
    station.press(WalkKey.CANCEL)
    with running(station):
        assert station.wait(WITHIN_S)
    assert station.view().state is WalkState.CANCELLED
    asked: list[Quantity] = []

    def make(quantity: Quantity) -> PlateWalk:
        asked.append(quantity)
        return PlateWalk(WalkSetup(PLATES), quantity)

    kilograms = tmp_path / "kg.jsonl"
    text = "".join(
        f'{{"at_us":{i * 12500},"text":"{i * 0.0 + 0.25:.2f} kg\\n"}}\n' for i in range(90)
    )
    kilograms.write_text(
        '{"strikebridge_recording":1,"board":"serial:x","started":"2026-11-25T10:00:00+00:00"}\n'
        + text
    )
    scale: WalkStation = RigStation(Stream(f"replay:{kilograms}?speed=max"), make)
    scale.press(WalkKey.NEXT)
    with running(scale):
        assert scale.wait(WITHIN_S)
    assert asked == [Quantity.COUNT, Quantity.KG]
    assert scale.view().quantity == "kg"
    assert scale.view().state is WalkState.SETTLING


def test_a_station_that_was_never_started_has_nothing(tmp_path: Path) -> None:
    station = station_of("simulated:", None)
    assert station.channels == 0
    assert station.identity is None
    station._feed([])
    station._finish()
    assert station.view().points == ()


@pytest.mark.slow
def test_the_certificate_measures_a_simulated_hold_within_its_u95(tmp_path: Path) -> None:
    """Plates off by up to 1 %, declared as 1 %; then the athlete at the wall, same cell."""
    certificate = walked_certificate(BoardModel(seed=6, plates_off=0.01), 0.01)
    recording = simulated_recording(tmp_path / "holds.jsonl", seconds=22.0, seed=6)
    setup = Setup(Calibration.from_certificate(certificate))
    reps = [rep for rep in analyse_file(recording, setup).reps if rep.hold.complete]
    truth = true_plateaus(6, 22.0)
    assert len(reps) >= 2
    for rep, plateau_N in zip(reps, truth, strict=False):
        held = rep.measures["hold_mean"]
        assert held.value is not None
        assert held.u95 is not None
        assert held.value == pytest.approx(plateau_N, abs=held.u95)
        assert held.certificate == certificate.id


def walked_certificate(model: BoardModel, tolerance: float) -> Certificate:
    """Walk on a simulated board as fast as it goes, without a thread."""
    plates = tuple(PlateRecord(p.name, p.mass_kg, tolerance * p.mass_kg) for p in PLATES)
    walk = PlateWalk(WalkSetup(plates, runs=1, is_hands_free=True))
    board, intake = SimulatedBoard(model), Intake(make_decoder("strikebridge-lines"))
    while not walk.has_ended:
        for line in board.next_lines():
            for call in walk.feed(intake.read([Chunk("simulated:", line.at_us, line.data)])):
                board.hear(call.kind, board.now_s, call.detail)
    found = walk.walk_input()
    return walk_certificate(found, analyse_walk(found), "2026-11-25T10:00:00+00:00")


def true_plateaus(seed: int, seconds: float) -> list[float]:
    board = SimulatedBoard(BoardModel(seed=seed))
    while board.now_s < seconds:
        board.next_lines()
    return [rep.plateau_N for rep in board.reps]


def test_an_intake_without_a_decoder_reads_nothing() -> None:
    intake = Intake(None)
    assert intake.read([Chunk("x", 0, b"1\n")]) == []
    assert intake.finish() == []
    assert intake.identity is None
    assert intake.to_stream_s(2_000_000) == (2.0, 0.0)
