"""The document of an analysis: its keys are a contract, and every number in it is one."""

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest

from strikebridge.analysis import Analysis, analyse_file, peak_time_s
from strikebridge.reports.analysis_json import (
    analysis_document,
    number,
    rep_document,
)
from strikebridge.samples import Contact, Gap, MeasureValue
from strikebridge.stream_setup import Setup
from tests.cli.streams import force_table, held_force, simulated_recording, write_table
from tests.every.test_every_measure import PROMISED


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Analysis:
    """An analysis with reps, a contact and a gap."""
    folder = tmp_path_factory.mktemp("analysis")
    analysis = analyse_file(simulated_recording(folder / "a.jsonl"), Setup())
    return replace(
        analysis, contacts=(Contact(1.0, 1.2, 80.0, "too short"),), gaps=(Gap(1.5, 2.0, 40),)
    )


def test_the_keys_are_the_contract(found: Analysis) -> None:
    document = cast("dict[str, Any]", analysis_document(found))
    top = ["recording", "rate_hz", "settling_s", "calibration", "holds", "contacts", "gaps"]
    assert list(document) == top
    assert len(document["holds"]) == 2
    for hold in document["holds"]:
        assert list(hold) == [
            "number",
            "onset_s",
            "peak_s",
            "release_s",
            "rise",
            "hold",
            "faults",
            "complete",
            "measures",
        ]
        assert sorted(hold["measures"]) == sorted(PROMISED)
        for value in hold["measures"].values():
            keys = ["value", "u95", "u_own", "u_common", "unit", "status", "reason"]
            assert list(value) == keys
            assert value["status"] in ("ok", "coarse", "withheld")
            assert (value["value"] is None) == (value["status"] == "withheld")
            assert (value["reason"] == "") == (value["status"] == "ok")
    assert document["contacts"] == [
        {"start_s": 1.0, "end_s": 1.2, "peak_N": 80.0, "reason": "too short"}
    ]
    assert document["gaps"] == [{"start_s": 1.5, "end_s": 2.0, "lost": 40}]


def test_every_number_is_plain(found: Analysis) -> None:
    document = analysis_document(found)
    text = json.dumps(document, allow_nan=False)
    assert json.loads(text) == document


def test_a_value_comes_with_both_parts_of_its_doubt(found: Analysis) -> None:
    document = cast("dict[str, Any]", rep_document(found.reps[0]))
    peak = document["measures"]["peak_force"]
    assert peak["u_common"] > 0.0
    assert peak["u95"] >= 1.95 * math.hypot(peak["u_own"], peak["u_common"])


def test_what_is_not_finite_is_null(found: Analysis) -> None:
    rep = found.reps[0]
    odd = MeasureValue("peak_force", math.nan, "N", math.inf, 0.0)
    broken = replace(rep, measures={**rep.measures, "peak_force": odd})
    document = cast("dict[str, Any]", rep_document(broken))
    peak = document["measures"]["peak_force"]
    assert (peak["value"], peak["u95"], peak["u_own"]) == (None, None, None)
    assert json.dumps(document, allow_nan=False)
    empty = replace(found, rate_hz=None, reps=(), contacts=(), gaps=())
    assert analysis_document(empty)["rate_hz"] is None


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (None, None),
        (math.nan, None),
        (-math.inf, None),
        (np.float64(1.5), 1.5),
        (0.0, 0.0),
    ],
)
def test_numbers_are_made_safe(value: float | None, expected: float | None) -> None:
    made = number(value)
    assert made == expected
    assert made is None or type(made) is float


def test_the_peak_lies_between_onset_and_release(found: Analysis) -> None:
    for rep in found.reps:
        hold = rep.hold
        assert hold.release_s is not None
        at_s = peak_time_s(rep)
        assert hold.onset_s <= at_s <= hold.release_s
        k = int(np.flatnonzero(hold.force.time_s == at_s)[0])
        inside = (hold.force.time_s >= hold.onset_s) & (hold.force.time_s <= hold.release_s)
        assert hold.force.force_N[k] == hold.force.force_N[inside].max()


def test_a_hold_of_no_length_peaks_at_its_onset(found: Analysis) -> None:
    rep = found.reps[0]
    nowhere = replace(rep, hold=replace(rep.hold, onset_s=1e6, release_s=1e6))
    assert peak_time_s(nowhere) == 1e6


def test_a_hold_that_never_ends_has_no_release(tmp_path: Path) -> None:
    time_s, force_N = held_force()
    keep = time_s < 16.0
    rows = ((f"{t:.4f}", f"{f:.5g}") for t, f in zip(time_s[keep], force_N[keep], strict=True))
    path = write_table(tmp_path / "a.csv", "time_s,force_N", rows)
    holds = cast("Any", analysis_document(analyse_file(path, Setup()))["holds"])
    assert [hold["complete"] for hold in holds] == [True, False]
    assert holds[1]["release_s"] is None
    assert holds[1]["peak_s"] > holds[1]["onset_s"]


def test_the_number_of_holds_does_not_hang_on_the_file_name(tmp_path: Path) -> None:
    a = analysis_document(analyse_file(force_table(tmp_path / "a.csv"), Setup()))
    b = analysis_document(analyse_file(force_table(tmp_path / "b b.csv"), Setup()))
    assert a.pop("recording") == "a.csv"
    assert b.pop("recording") == "b b.csv"
    assert a == b
