"""The number to chase: a best with this set-up, a band of it, or a fixed one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.samples import Effort, Prescription
from strikebridge.session.plan import Target

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.samples import MeasureValue, Rep
    from strikebridge.session.turns import Turn


class Targets:
    """Bests of the days before and of this session, and what they ask for."""

    def __init__(
        self,
        past: Mapping[tuple[str, str], MeasureValue],
        days: Mapping[tuple[str, str], str] | None = None,
    ) -> None:
        """Begin with the sessions before.

        Args:
            past: athlete and key of the exercise -> best peak force with this set-up.
            days: the same -> when that was, in words; None where nobody knows.
        """
        self._days = days or {}
        self._past = dict(past)
        self._kept: dict[tuple[str, str, Effort], list[tuple[int, Rep]]] = {}

    def keep(self, turn: Turn, rep: Rep) -> None:
        """Take in a rep that counts.

        Args:
            turn: whose.
            rep: the rep.
        """
        self._kept.setdefault(_kind(turn), []).append((turn.number, rep))

    def take_back(self, turn: Turn) -> bool:
        """Let a rep count no longer.

        Args:
            turn: whose.

        Returns:
            True if there was one.
        """
        kept = self._kept.get(_kind(turn), [])
        left = [one for one in kept if one[0] != turn.number]
        self._kept[_kind(turn)] = left
        return len(left) < len(kept)

    def reps(self, turn: Turn) -> list[Rep]:
        """Give the reps that count of this athlete, exercise and effort, oldest first.

        Args:
            turn: whose.
        """
        return [rep for _, rep in self._kept.get(_kind(turn), [])]

    def past_best(self, turn: Turn) -> MeasureValue | None:
        """Give the best of the days before, where a maximal hold is to be compared with it.

        Args:
            turn: whose.
        """
        return self._past.get(turn.task) if turn.block.effort is Effort.MAXIMAL else None

    def past_day(self, turn: Turn) -> str:
        """Say when the best of the sessions before was, such as `24 Nov`.

        Args:
            turn: whose.
        """
        return self._days.get(turn.task, "before this session")

    def best_N(self, turn: Turn) -> float | None:
        """Give the best peak force of maximal holds until now.

        Args:
            turn: whose.

        Returns:
            Force [N], None where none is known.
        """
        past = self._past.get(turn.task)
        peaks = [None if past is None else past.value]
        for _, rep in self._kept.get((*turn.task, Effort.MAXIMAL), []):
            peak = rep.measures.get("peak_force")
            peaks.append(None if peak is None else peak.value)
        return max((peak for peak in peaks if peak is not None), default=None)

    def target_N(self, turn: Turn) -> float | None:
        """Say which number is to be reached.

        Args:
            turn: whose.

        Returns:
            Force [N], None where none is asked for, a band is, or no best is known yet.
        """
        block = turn.block
        if block.target is Target.FIXED:
            return block.fixed_N
        return self.best_N(turn) if block.target is Target.BEST else None

    def prescription(self, turn: Turn) -> Prescription:
        """Say what is asked for.

        Args:
            turn: whose.

        Returns:
            Effort, seconds and band; no band where no best is known yet.
        """
        block, band_N = turn.block, turn.block.fixed_band_N
        best_N = self.best_N(turn)
        if block.band_percent is not None and best_N is not None:
            low, high = block.band_percent
            band_N = (best_N * low / 100.0, best_N * high / 100.0)
        return Prescription(block.effort, block.seconds, band_N)


def _kind(turn: Turn) -> tuple[str, str, Effort]:
    return *turn.task, turn.block.effort
