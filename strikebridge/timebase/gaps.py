"""Where samples are missing: jumps of the running number."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.samples import Gap

if TYPE_CHECKING:
    from strikebridge.samples import TimedBlock


class GapFinder:
    """Find the gaps of a stream.

    Attributes:
        lost: samples known to be missing so far.
    """

    def __init__(self) -> None:
        self.lost = 0
        self._previous: tuple[int, float] | None = None  # number and time of the last sample

    def feed(self, block: TimedBlock) -> list[Gap]:
        """Look at one block.

        Args:
            block: timed readings, at least one, in order.

        Returns:
            The gaps before and inside it.
        """
        gaps: list[Gap] = []
        previous = self._previous
        self._previous = (int(block.number[-1]), float(block.time_s[-1]))
        if previous is not None and block.number[0] - previous[0] > 1:
            lost = int(block.number[0]) - previous[0] - 1
            gaps.append(Gap(previous[1], float(block.time_s[0]), lost))
        if block.number[-1] - block.number[0] >= len(block):
            jumps = block.number[1:] - block.number[:-1] - 1
            for i in jumps.nonzero()[0]:
                start_s, end_s = float(block.time_s[i]), float(block.time_s[i + 1])
                gaps.append(Gap(start_s, end_s, int(jumps[i])))
        self.lost += sum(gap.lost for gap in gaps)
        return gaps
