"""Stored reps as they are exported, with and without names, curves and what may be missing."""

from __future__ import annotations

from dataclasses import replace

from strikebridge.export.gather import dataset_of, pseudonym, trace_of
from strikebridge.samples import Prescription
from strikebridge.typed import typed, typed_rep
from strikebridge.units import ForceUnit
from tests.export.made_exports import trace
from tests.store.made import INES, JUNO, rep

FIRST, SECOND = rep(1), replace(rep(2), athlete=JUNO.id, hand=None, setup=None, recording=None)
NAMES = {INES.id: INES.name, JUNO.id: JUNO.name}


def test_everything_of_a_rep_goes_out() -> None:
    one, two = dataset_of([FIRST, SECOND], NAMES).reps
    assert (one.rep, two.rep) == (1, 2)
    assert (one.athlete, one.hand, one.setup) == (INES.name, "right", FIRST.setup.key)  # type: ignore[union-attr]  # it has one
    assert (two.athlete, two.hand, two.setup) == (JUNO.name, "", "")
    assert one.measures == tuple(FIRST.measures.values())
    assert (one.effort, one.hold_s, one.way) == ("maximal", 3.0, "measured")
    assert (one.faults, one.cue, one.at) == (FIRST.faults, FIRST.cue, FIRST.ended_at)
    assert (one.session, one.force) == (FIRST.session, None)


def test_a_curve_is_found_by_recording_and_beginning() -> None:
    curve = trace(even=True)
    curves = {(FIRST.recording or "", FIRST.start_s or 0.0): curve}
    later = replace(rep(3), start_s=None)
    forces = [one.force for one in dataset_of([FIRST, SECOND, later], NAMES, curves).reps]
    assert forces == [curve, None, None]


def test_a_pseudonym_is_the_same_in_every_export_and_tells_nothing() -> None:
    one, two = dataset_of([FIRST, SECOND], None).reps
    assert one.athlete == pseudonym(INES.id) == dataset_of([FIRST], None).reps[0].athlete
    assert len({one.athlete, two.athlete}) == 2
    for known in (INES.id, INES.name, FIRST.session):
        assert known not in (one.athlete, one.session)
    assert one.session == two.session


def test_a_typed_rep_has_no_peak_to_mark() -> None:
    event = typed(1, 80.0, 1.0, ForceUnit.KG, go_us=1_000_000, now_us=5_000_000)
    curve = trace_of(typed_rep(event, Prescription(hold_s=3.0)))
    events = [one.label for one in curve.events]
    assert events == ["go", "onset", "release"]
