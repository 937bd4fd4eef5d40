"""Stored reps as what is exported, with the curves out of their recordings.

With pseudonyms an athlete has the same one in every export, and sessions are renamed too; days
stay, since progress cannot be seen without them.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from strikebridge.analysis import peak_time_s
from strikebridge.export.dataset import Dataset, ExportRep, ForceTrace, RepEvent
from strikebridge.recorded_reps import recorded_reps

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from strikebridge.club.training import RepRecord
    from strikebridge.samples import Rep

PSEUDONYM_LETTERS = 8


def pseudonym(athlete: str) -> str:
    """Give the name that stands for an athlete in every pseudonymous export.

    It comes from the athlete's random id, so that nobody without the database can go back.

    Args:
        athlete: id of the athlete.
    """
    return f"athlete-{_hashed(athlete)}"


def dataset_of(
    reps: Sequence[RepRecord],
    names: Mapping[str, str] | None,
    curves: Mapping[tuple[str, float], ForceTrace] | None = None,
) -> Dataset:
    """Make an export of stored reps.

    Args:
        reps: the reps, in the order they are to be numbered in.
        names: id of an athlete -> name; None for pseudonyms, where sessions are renamed too.
        curves: from `curves_of`; None for none.

    Returns:
        What a format writes.
    """
    return Dataset(
        tuple(
            ExportRep(
                rep=number,
                athlete=pseudonym(rep.athlete) if names is None else names[rep.athlete],
                session=_hashed(rep.session) if names is None else rep.session,
                at=rep.ended_at,
                exercise=rep.exercise,
                hand="" if rep.hand is None else rep.hand.value,
                setup="" if rep.setup is None else rep.setup.key,
                set_number=rep.set_number,
                turn=rep.turn,
                cue=rep.cue,
                note="",
                rise=rep.rise,
                hold=rep.hold,
                measures=tuple(rep.measures.values()),
                force=(curves or {}).get(_place(rep)),
                effort=rep.prescription.effort.value,
                hold_s=rep.prescription.hold_s,
                way=rep.way.value,
                faults=rep.faults,
            )
            for number, rep in enumerate(reps, start=1)
        )
    )


def curves_of(
    reps: Sequence[RepRecord], folder: Path
) -> tuple[dict[tuple[str, float], ForceTrace], tuple[str, ...]]:
    """Fetch the curves of stored reps out of their recordings.

    Args:
        reps: the reps.
        folder: where the recordings lie.

    Returns:
        Recording and beginning of a rep -> its curve; and what could not be fetched, each a
        sentence.
    """
    found, cautions = recorded_reps(reps, folder)
    return {place: trace_of(rep) for place, rep in found.items()}, cautions


def trace_of(rep: Rep) -> ForceTrace:
    """Take the curve of a rep with what happened in it.

    Args:
        rep: the rep.
    """
    hold = rep.hold
    moments = (
        ("go", hold.go_s),
        ("onset", hold.onset_s),
        ("peak", None if rep.is_typed else peak_time_s(rep)),
        ("release", hold.release_s),
    )
    events = [RepEvent(label, float(at)) for label, at in moments if at is not None]
    return ForceTrace(
        time_s=tuple(hold.force.time_s.tolist()),
        force_N=tuple(hold.force.force_N.tolist()),
        rate_hz=float(hold.force.rate_hz),
        events=tuple(sorted(events, key=lambda one: one.time_s)),
    )


def _place(rep: RepRecord) -> tuple[str, float]:
    return rep.recording or "", -1.0 if rep.start_s is None else rep.start_s


def _hashed(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()[:PSEUDONYM_LETTERS]
