"""The one entry: picks the clock by what the first block brings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.timebase.arrival_clock import ArrivalClock
from strikebridge.timebase.board_clock import UNKNOWN_U_US, BoardClock

if TYPE_CHECKING:
    from strikebridge.samples import CountBlock, TimedBlock


class Timebase:
    """Give every sample of a stream its time.

    With board ticks, samples leave at once after the first 12 or the first second. Without,
    the first second (two at most, twelve samples at least where they come faster than that) is
    held back until the rate is known, and later a stretch that is late beyond the usual is held
    until it is clear whether it was only late or something was lost, for 0.4 s or 4 periods at
    most.
    """

    def __init__(self, nominal_rate_hz: float | None = None) -> None:
        """Start before the first sample.

        Args:
            nominal_rate_hz: rate printed on the board [1/s]; used only where the stream itself
                says nothing of its rate. None where unknown.

        Raises:
            ValueError: the nominal rate is not above zero.
        """
        if nominal_rate_hz is not None and not nominal_rate_hz > 0.0:
            raise ValueError("nominal_rate_hz must be above zero, or None where it is unknown")
        self._nominal_hz = nominal_rate_hz
        self._clock: BoardClock | ArrivalClock | None = None

    @property
    def rate_hz(self) -> float | None:
        """Real sampling rate [1/s], None until it is known."""
        return None if self._clock is None else self._clock.rate_hz

    def feed(self, block: CountBlock) -> list[TimedBlock]:
        """Time one block.

        Args:
            block: readings as decoded; empty ones are allowed.

        Returns:
            Timed readings in order. A new block begins where the stated rate changes, so that
            the rate beside each sample does not depend on how the input was cut either.

        Raises:
            ValueError: the stream had board ticks and now has none, or the other way round.
        """
        if not len(block):
            return []
        if self._clock is None:
            kind = ArrivalClock if block.ticks_us is None else BoardClock
            self._clock = kind(self._nominal_hz)
        return self._clock.feed(block)

    def finish(self) -> list[TimedBlock]:
        """End the stream: decide what was still undecided and let it go."""
        return [] if self._clock is None else self._clock.finish()

    def to_stream_s(self, at_us: int) -> tuple[float, float]:
        """Map a moment of the host's clock, such as the go signal, onto the samples' axis.

        Args:
            at_us: host monotonic clock since the start of the stream [us].

        Returns:
            Time on the axis of `TimedBlock.time_s` [s] and its standard uncertainty [s], which
            is a whole second while no sample has come.
        """
        if self._clock is None:
            return at_us / 1e6, UNKNOWN_U_US / 1e6
        return self._clock.to_stream_s(at_us)
