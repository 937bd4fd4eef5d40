"""The first stages of every stream, whatever it is for: record, decode, time.

A hold, a plate walk and a check begin alike: every byte is kept before anything looks at it,
then read as counts, then given its time. No thread and no clock here either.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.samples import Quantity
from strikebridge.timebase import Timebase

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.boards.link import Decoder
    from strikebridge.recording import RecordingWriter
    from strikebridge.samples import Chunk, CountBlock, Identity, Record, TimedBlock


ERASED = "erased"
"""Event in place of what was cut out of a recording because somebody asked for it."""
BREAKS = ("lost", "baud", ERASED)
"""Events after which the next line may be torn: the board was lost, was read too fast, or some
of the recording is gone."""


class Intake:
    """Record, decode and time.

    Attributes:
        readings: samples decoded so far.
        quantity: what the readings are, unknown before the first.
    """

    def __init__(
        self,
        decoder: Decoder | None,
        *,
        recorder: RecordingWriter | None = None,
        nominal_rate_hz: float | None = None,
    ) -> None:
        """Put the stages together.

        Args:
            decoder: reads the board's lines; None where readings come from a table.
            recorder: keeps every record; None on replay.
            nominal_rate_hz: nominal sampling rate [1/s], None to take what the board says.
        """
        self._decoder = decoder
        self._recorder = recorder
        self._nominal_hz = nominal_rate_hz
        self._timebase: Timebase | None = None
        self.readings = 0
        self.quantity = Quantity.UNKNOWN

    @property
    def is_timed(self) -> bool:
        """Say whether the first reading has come, so that time is kept."""
        return self._timebase is not None

    @property
    def identity(self) -> Identity | None:
        """What the board said of itself, None as long as it did not."""
        return None if self._decoder is None else self._decoder.identity

    @property
    def rate_hz(self) -> float | None:
        """The board's real sampling rate [1/s], None as long as it is unknown."""
        return None if self._timebase is None else self._timebase.rate_hz

    def record(self, records: Sequence[Record]) -> None:
        """Keep records, before anything looks at them.

        Args:
            records: chunks and events in order of arrival.

        Raises:
            RecordingError: the recording cannot be continued.
        """
        if self._recorder is not None:
            for record in records:
                self._recorder.append(record)

    def read(self, chunks: Sequence[Chunk]) -> list[TimedBlock]:
        """Decode and time chunks; one at a time until the first reading has come.

        The clock is set up by what the board has said of itself until then, which must not
        depend on how the chunks were grouped.

        Args:
            chunks: in order of arrival, recorded already.

        Returns:
            Timed readings.
        """
        if self._decoder is None:
            return []
        timed: list[TimedBlock] = []
        at = 0
        while at < len(chunks) and not self.is_timed:
            timed += self._decoded(self._decoder.feed([chunks[at]]))
            at += 1
        if at < len(chunks):
            timed += self._decoded(self._decoder.feed(chunks[at:]))
        return timed

    def time(self, blocks: Sequence[CountBlock], quantity: Quantity) -> list[TimedBlock]:
        """Time readings that need no decoder (a table).

        Args:
            blocks: readings in order.
            quantity: what they are.

        Returns:
            Timed readings.
        """
        timed: list[TimedBlock] = []
        for block in blocks:
            self.quantity = quantity
            self.readings += len(block)
            timed += self._clock().feed(block)
        return timed

    def break_off(self) -> list[TimedBlock]:
        """Hear that the board was lost: the half line before that is no reading."""
        return [] if self._decoder is None else self._decoded(self._decoder.finish())

    def finish(self) -> list[TimedBlock]:
        """End the stream and give out what was still held back."""
        timed = self.break_off()
        return timed if self._timebase is None else [*timed, *self._timebase.finish()]

    def to_stream_s(self, at_us: int) -> tuple[float, float]:
        """Map a moment of the host's clock onto the samples' axis.

        Args:
            at_us: host monotonic clock since the start of the stream [us].

        Returns:
            Time on the axis of `TimedBlock.time_s` [s] and its standard uncertainty [s].
        """
        if self._timebase is None:
            return at_us * 1e-6, 0.0
        return self._timebase.to_stream_s(at_us)

    def _decoded(self, blocks: Sequence[CountBlock]) -> list[TimedBlock]:
        quantity = self.quantity if self._decoder is None else self._decoder.quantity
        return self.time(blocks, quantity)

    def _clock(self) -> Timebase:
        if self._timebase is None:
            nominal_hz, identity = self._nominal_hz, self.identity
            if nominal_hz is None and identity is not None:
                nominal_hz = identity.rate_hz
            self._timebase = Timebase(nominal_hz)
        return self._timebase
