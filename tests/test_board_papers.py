"""What the papers of a board say before a session, and what they get to keep of an overload."""

from pathlib import Path

import msgspec
import numpy as np

from strikebridge.board_papers import OVERLOADED, BoardPapers
from strikebridge.boards.address import make_decoder
from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.certificate import Certificate, plain_certificate
from strikebridge.calibration.rating import Strain
from strikebridge.calibration.shelf import Shelf
from strikebridge.checks.history import OverloadRecord, board_file, read_history
from strikebridge.samples import Chunk, ForceBlock, Identity
from strikebridge.scoreboard import Scoreboard
from strikebridge.units import ForceUnit

IDENTITY = Identity("wall-1", "1.0", "HX711", 80.0, 0.05)
RATED = Calibration.by_hand(1.0, 0.0).rated(1000.0)


def scoreboard() -> Scoreboard:
    return Scoreboard(ForceUnit.KG)


def forces(*force_N: float) -> ForceBlock:
    n = len(force_N)
    force = np.array(force_N)
    return ForceBlock(
        np.arange(n), np.arange(n) / 80.0, force, force.reshape(n, 1), np.zeros(n), np.zeros(n),
        np.zeros(n, np.uint16), 80.0, None,
    )  # fmt: skip


def test_an_overload_is_kept_once_when_it_is_over(tmp_path: Path) -> None:
    remarks, board = list[str](), scoreboard()
    papers = BoardPapers(tmp_path, board, remarks.append)
    papers.mind_rating(RATED, [forces(900.0, 1200.0, 1300.0)])
    assert papers.is_overload_new
    assert board.strain == Strain.OVER
    papers.mind_rating(RATED, [forces(10.0)])
    assert papers.has_overload_to_keep
    for _ in range(2):
        papers.keep_overload(IDENTITY, None, "simulated:")
    assert board.warning == OVERLOADED
    assert len(remarks) == 1
    (record,) = read_history(board_file(tmp_path, "wall-1 1.0", "simulated:")).records
    assert isinstance(record, OverloadRecord)
    assert (record.force_N, record.rating_N) == (1300.0, 1000.0)


def test_a_board_without_a_name_goes_by_that_of_its_certificate(tmp_path: Path) -> None:
    papers = BoardPapers(tmp_path, scoreboard(), lambda _: None)
    papers.mind_rating(RATED, [forces(1200.0, 1300.0, 10.0)])
    papers.keep_overload(None, certificate(), "serial:x")
    assert len(read_history(board_file(tmp_path, "wall-1 1.0", "serial:x")).records) == 1


def test_a_wall_without_papers_warns_all_the_same() -> None:
    remarks, board = list[str](), scoreboard()
    papers = BoardPapers(None, board, remarks.append)
    assert papers.look_up(None, "simulated:") is None
    papers.mind_rating(None, [forces(5000.0)])  # no force, nothing to be said
    assert board.strain == Strain.FINE
    papers.mind_rating(RATED, [forces(1200.0, 1300.0, 10.0)])
    papers.keep_overload(IDENTITY, None, "simulated:")
    assert board.warning == OVERLOADED
    assert len(remarks) == 1


def test_the_certificate_is_chosen_once_and_its_checks_are_looked_at(tmp_path: Path) -> None:
    nameless = msgspec.structs.replace(certificate(), board="")
    Shelf(tmp_path).put(nameless)
    remarks, board = list[str](), scoreboard()
    papers = BoardPapers(tmp_path, board, remarks.append)
    assert papers.look_up(None, "serial:x") is None  # the board has to come first
    decoder = make_decoder("bare-integers")
    assert papers.choose(decoder, "serial:x", 9.0) is None  # no reading came yet
    decoder.feed([Chunk("serial:x", at_us, b"17\n") for at_us in (1, 12500)])
    chosen = papers.choose(decoder, "serial:x", 9.0)
    assert chosen == nameless
    assert not papers.is_choosing
    assert papers.choose(decoder, "serial:x", 9.0) is None
    assert len(remarks) == 2  # which calibration, and that nobody checked the board since
    assert nameless.id in remarks[0]


def certificate() -> Certificate:
    made = plain_certificate(
        0.01, 0.0, made_at="2026-03-01T18:30:00+01:00", range_N=(0.0, 900.0)
    )
    return msgspec.structs.replace(made, board="wall-1 1.0", address="serial:x")
