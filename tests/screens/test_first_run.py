"""From the empty start page to the review of a set, by the keys of a clicker alone."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING, Any

import pytest

from strikebridge.cli import run, starting
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.looking_back import last_session, look_back
from strikebridge.screens.start_model import Lead
from strikebridge.store.database import open_store
from tests.screens.first_run import FirstRun, write_plan
from tests.screens.in_step import in_step

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = [pytest.mark.screen, pytest.mark.slow, pytest.mark.timeout(180)]


def test_a_first_run_ends_with_a_set_looked_back_on(
    tmp_path: Path,
    qapp: Any,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr("strikebridge.boards.serial_link.list_ports", list)
    monkeypatch.setattr(starting, "SIMULATED", "simulated:?speed=max")  # else as it is
    monkeypatch.setattr(starting, "SIMULATED_RIG", "simulated:?rig=plates&speed=20")
    write_plan(tmp_path)
    (tmp_path / "plates.csv").write_text("name,mass_kg\n20 kg,20\n")  # a short walk
    first = FirstRun()
    with in_step(lambda: first.looks):
        assert run(["--data", str(tmp_path)]) == 0
    first.stop()
    capsys.readouterr()
    assert first.leads[:2] == [Lead.SIMULATED, Lead.CALIBRATE]
    assert first.leads[-3:] == [Lead.ATHLETES, Lead.PLAN, Lead.SESSION]
    names = [one.name for one in sorted(saltmarsh_quay(), key=lambda one: one.name)]
    assert sorted(first.calls) == names
    for page in ("Take care", "Athletes", "Plan of the next session", "rig finished"):
        assert page in first.seen
    for scene in ("turn", "counted in", "hold", "outcome", "over"):
        assert f"wall {scene}" in first.seen
    assert "review 0" in first.seen
    assert first.seen[-1].startswith("start")
    with contextlib.closing(open_store(tmp_path)) as store:
        record = last_session(store)
        assert record is not None
        done = look_back(store, record.id)
    assert (done.done, done.planned, done.still_open) == (6, 6, 0)
    assert record.plan == "one-each"
