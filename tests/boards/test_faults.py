"""A session of each kind of `python -m tests.boards.faults`, and that its judge sees faults."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

import pytest

from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.samples import Chunk, Event
from tests.boards.faults import KINDS, Session, _judge_bytes, campaign, faults_of, table
from tests.ptys import posix

if TYPE_CHECKING:
    from tests.boards.faults import Player


@posix
@pytest.mark.slow
@pytest.mark.timeout(240)
def test_no_fault_of_a_cable_costs_anything() -> None:
    sessions = campaign(len(KINDS), 5)
    assert {session.kind for session in sessions} == {*KINDS}
    assert faults_of(sessions) == []
    # how soon it went on is judged by the campaign, on a machine that does nothing else
    assert len([t for session in sessions for t in session.recovery_s]) >= 2
    assert all(session.late_s is not None for session in sessions if session.kind == "kill -9")
    kinds = {session.kind: session.events for session in sessions}
    assert {"lost", "back"} <= {*kinds["unplug"]}
    assert "fault" in kinds["reset"]
    assert "fault" in kinds["clock leap"]


def test_the_table_counts_what_went_wrong() -> None:
    sessions = [
        Session("unplug", 1, 2.0, 3.0, invented=1, recovery_s=[0.25]),
        Session("stuck", 2, 2.0, 3.0, crash="it fell over", lost=2),
    ]
    assert faults_of(sessions) == sessions
    rows = table(sessions)
    assert rows[1].split() == ["unplug", "1", "0", "0", "1", "0", "0", "0", "0.25", "-"]
    assert rows[2].split() == ["stuck", "1", "0", "1", "0", "2", "0", "0", "-", "-"]
    assert rows[3].split() == ["all", "2", "0", "1", "1", "2", "0", "0", "0.25", "-"]
    (killed,) = table([Session("kill -9", 3, 2.0, 3.0, late_s=0.04)])[1:2]
    assert killed.split()[-2:] == ["-", "0.04"]


LINES = [close_line(b"S,%06d,%06d,1" % (k, 10_000 * k)) for k in range(20)]
LINE = len(LINES[0])
OVER = b"# over\n"


def unplugged(*, first: bytes | None = None, second: bytes | None = None) -> str:
    """Judge a board that was pulled and came back, by what was recorded of its two ports.

    Twenty lines went into each port, one in a hundredth of a second; all of the first had
    arrived, five of the second were written before the program said `back`.
    """
    part = b"".join(LINES)
    sizes = [LINE * (k + 1) for k in range(20)]
    player = SimpleNamespace(
        sent=[part, part + OVER],
        arrived=len(part),
        writes=[
            [(100.0 + 0.01 * k, size) for k, size in enumerate(sizes)],
            [(109.945 + 0.01 * k, size) for k, size in enumerate([*sizes, 20 * LINE + 7])],
        ],
        began_s=100.0,
        back_s=109.9,
    )
    records: list[Chunk | Event] = [
        Chunk("serial:x", 10_000 * k + 1_000, line) for k, line in enumerate(LINES)
    ]
    if first is not None:
        records = [*records[:15], Chunk("serial:x", 151_000, first)]
    records += [Event("lost", 5_000_000), Event("back", 9_970_000)]
    records.append(Chunk("serial:x", 9_980_000, part + OVER if second is None else second))
    session = Session("unplug", 1, 5.0, 9.9)
    _judge_bytes(session, cast("Player", player), records)
    return session.bytes_wrong


def test_the_judge_of_bytes_misses_none_that_arrived() -> None:
    tail, part = b"".join(LINES[15:]), b"".join(LINES)
    assert unplugged() == ""
    assert unplugged(first=tail) == ""
    assert unplugged(first=tail[:-1]) == f"port 0: {20 * LINE - 1} of {20 * LINE} bytes"
    assert unplugged(first=tail[:-2] + b"?\n").startswith("port 0")
    # what waited in the second port when it was opened is gone, and no byte more
    assert unplugged(second=part[5 * LINE :] + OVER) == ""
    assert unplugged(second=part[5 * LINE + 1 :] + OVER).startswith("port 1")
    assert unplugged(second=OVER).startswith("port 1")
    assert unplugged(second=part) == "port 1: its end is missing"
