"""A tenth of the campaign `python -m tests.boards.faults`, and that its judge sees faults."""

import numpy as np
import pytest

from tests.boards.faults import KINDS, Session, campaign, faults_of, table
from tests.ptys import posix


@posix
@pytest.mark.slow
@pytest.mark.timeout(240)
def test_no_fault_of_a_cable_costs_anything() -> None:
    sessions = campaign(24, 5)
    assert {session.kind for session in sessions} == {*KINDS}
    assert faults_of(sessions) == []
    recovery_s = [t for session in sessions for t in session.recovery_s]
    assert len(recovery_s) >= 4
    assert float(np.quantile(recovery_s, 0.99)) < 2.0  # 1 s on a machine that does nothing else
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
    assert rows[1].split() == ["unplug", "1", "0", "0", "1", "0", "0", "0", "0.25"]
    assert rows[2].split() == ["stuck", "1", "0", "1", "0", "2", "0", "0", "-"]
    assert rows[3].split() == ["all", "2", "0", "1", "1", "2", "0", "0", "0.25"]
