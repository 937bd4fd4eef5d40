"""What was called out beside the samples: the go, the prescription, and whose hold they are.

A recording keeps calls as events on the host's clock; here they stand on the samples' own axis.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, replace

from strikebridge.samples import Effort, Event, Hold, Prescription

REMEMBERED = 8  # gos and prescriptions kept until the hold they belong to is over
GO_BEFORE_ONSET_S = 10.0  # a go this old belongs to no rise any more
GO_AFTER_ONSET_S = 1.5  # a false start comes before its go


def prescribed(prescription: Prescription, at_us: int) -> Event:
    """Write a prescription as the event that a recording keeps.

    Args:
        prescription: what the athlete is asked to do.
        at_us: when, on the stream's clock [us].

    Returns:
        The event; `prescription_of` reads it back.
    """
    low_N, high_N = prescription.band_N or (None, None)
    detail = {
        "effort": prescription.effort.value,
        "hold_s": prescription.hold_s,
        "band_low_N": low_N,
        "band_high_N": high_N,
    }
    return Event("prescribed", at_us, detail)


def prescription_of(event: Event) -> Prescription:
    """Read a `prescribed` event.

    Args:
        event: as `prescribed` wrote it; what is missing or unreadable counts as not prescribed.

    Returns:
        The prescription.
    """
    hold_s, low_N, high_N = (
        float(value) if isinstance(value, (int, float)) else None
        for value in (event.detail.get(key) for key in ("hold_s", "band_low_N", "band_high_N"))
    )
    is_submaximal = event.detail.get("effort") == Effort.SUBMAXIMAL
    band_N = None if low_N is None or high_N is None else (low_N, high_N)
    return Prescription(Effort.SUBMAXIMAL if is_submaximal else Effort.MAXIMAL, hold_s, band_N)


@dataclass(frozen=True, slots=True)
class Go:
    """A go on the samples' axis.

    Attributes:
        time_s: when it was said [s].
        u_s: standard uncertainty of that [s].
        latency_s: stated time until it was heard [s], 0 where no tone was played.
        u_latency_s: standard uncertainty of that [s].
    """

    time_s: float
    u_s: float
    latency_s: float = 0.0
    u_latency_s: float = 0.0


def _heard(go: Go, event: Event) -> Go:
    """Add what a `sound` event states; what is unreadable or no time counts as nothing."""
    latency_s, u_latency_s = (
        float(value) if isinstance(value, (int, float)) and 0.0 <= value < math.inf else 0.0
        for value in (event.detail.get(key) for key in ("latency_s", "u_latency_s"))
    )
    return replace(go, latency_s=latency_s, u_latency_s=u_latency_s)


class Calls:
    """Remember the last calls and give each hold its own."""

    def __init__(self) -> None:
        self._gos: deque[Go] = deque(maxlen=REMEMBERED)
        self._prescriptions: deque[tuple[float, Prescription]] = deque(maxlen=REMEMBERED)

    def hear(self, event: Event, time_s: float, u_s: float) -> None:
        """Note a call; other events are no business of ours.

        Args:
            event: a record of the stream.
            time_s: its time on the samples' axis [s].
            u_s: standard uncertainty of that time [s].
        """
        if event.kind == "go":
            self._gos.append(Go(time_s, u_s))
        elif event.kind == "sound" and event.detail.get("signal") == "go" and self._gos:
            self._gos[-1] = _heard(self._gos[-1], event)
        elif event.kind == "prescribed":
            self._prescriptions.append((time_s, prescription_of(event)))

    def with_go(self, hold: Hold) -> Hold:
        """Give a hold the go nearest to its onset.

        Args:
            hold: as the detector made it.

        Returns:
            The hold with `go_s`, `u_go_s` and `sound_latency_s`, or as it was where no go was
            near.
        """
        near = [
            go
            for go in self._gos
            if -GO_AFTER_ONSET_S <= hold.onset_s - go.time_s <= GO_BEFORE_ONSET_S
        ]
        if not near:
            return hold
        nearest = min(near, key=lambda go: abs(hold.onset_s - go.time_s))
        self._gos.remove(nearest)  # one go is for one hold
        return replace(
            hold,
            go_s=nearest.time_s,
            u_go_s=math.hypot(nearest.u_s, nearest.u_latency_s),
            sound_latency_s=nearest.latency_s,
        )

    def prescription_at(self, onset_s: float) -> Prescription:
        """Say what was prescribed when a hold began.

        Args:
            onset_s: onset of the hold [s].

        Returns:
            The last prescription before it; a maximal effort of no set length without one.
        """
        known = [one for time_s, one in self._prescriptions if time_s <= onset_s]
        return known[-1] if known else Prescription()
