"""READ FIRST: the one path of a sample, from bytes to a judged rep.

```
bytes -> record -> decode -> time -> calibrate -> hold -> measures -> verdict
```

Live, replay and offline analysis all run this class and nothing else, so that one capture gives
the same holds everywhere, to the last digit. It has no thread and reads no clock: time arrives
in the data. Whoever owns the thread is `station`; whoever owns a file is the command that reads
it.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from strikebridge.calibration.in_use import CalibrationInUse
from strikebridge.calls import Calls
from strikebridge.chunk_run import ChunkRun
from strikebridge.glance import Trace
from strikebridge.holds import HoldDetector
from strikebridge.intake import BREAKS, Intake
from strikebridge.measures import CREEP_CERTIFIED, DEFAULT_SETTINGS, bricks, measure
from strikebridge.samples import Chunk, Contact, Event, Gap, Hold, Quantity, Rep
from strikebridge.timebase.gaps import GapFinder
from strikebridge.typed import KIND as TYPED
from strikebridge.typed import typed_rep
from strikebridge.verdict import judge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.boards.link import Decoder
    from strikebridge.calibration.apply import Calibration
    from strikebridge.recording import RecordingWriter
    from strikebridge.samples import CountBlock, ForceBlock, Record, TimedBlock
    from strikebridge.stream_setup import Setup

Outcome = Rep | Contact | Gap


class Pipeline:
    """Run every stage in order.

    Attributes:
        fresh: force blocks that the last call of `read` brought, for a live screen.
    """

    def __init__(
        self,
        decoder: Decoder | None,
        setup: Setup,
        *,
        recorder: RecordingWriter | None = None,
    ) -> None:
        """Put the stages together.

        Args:
            decoder: reads the board's lines; None where readings come from a table.
            setup: what is known of the stream.
            recorder: keeps every record before anything looks at it; None on replay.
        """
        self._setup = setup
        self._intake = Intake(decoder, recorder=recorder, nominal_rate_hz=setup.nominal_rate_hz)
        self._calibration = CalibrationInUse(setup.calibration, setup.rating_N)
        self._gaps = GapFinder()
        self._detector: HoldDetector | None = None
        self._settling_s: float | None = None
        self._calls = Calls()
        self._typed_numbers = 0
        self._unjudged: list[ForceBlock] = []
        self.fresh: list[ForceBlock] = []

    @property
    def readings(self) -> int:
        """Samples decoded so far, and numbers that were typed."""
        return self._intake.readings + self._typed_numbers

    @property
    def calibration(self) -> Calibration | None:
        """How readings become newtons, None as long as nobody knows."""
        return self._calibration.now

    @property
    def lost(self) -> int:
        """Samples known to be missing so far."""
        return self._gaps.lost

    @property
    def detector(self) -> HoldDetector | None:
        """The detector, None before the first force."""
        return self._detector

    @property
    def rate_hz(self) -> float | None:
        """The board's real sampling rate [1/s], None as long as it is unknown."""
        return self._intake.rate_hz

    @property
    def settling_s(self) -> float | None:
        """Settling time of the converter [s]: as set up, else as the board said, else None."""
        if self._detector is not None:
            return self._settling_s
        if self._setup.settling_s is not None:
            return self._setup.settling_s
        identity = self._intake.identity
        return None if identity is None else identity.settling_s

    def feed(self, records: Sequence[Record]) -> list[Outcome]:
        """Take records in order of arrival.

        Args:
            records: chunks and events; how they are grouped into calls does not matter.

        Returns:
            Finished reps, contacts and gaps, in order.

        Raises:
            RecordingError: the recording cannot be continued; nothing was decoded then.
            CalibrationError: the certificate does not fit the board.
        """
        return self.read(records) + self.judge()

    def read(self, records: Sequence[Record]) -> list[Outcome]:
        """Take records as far as `fresh`, the force that a live screen waits for.

        Args:
            records: as `feed` takes them.

        Returns:
            Gaps, and what was found before an event; the rest is said by `judge`.

        Raises:
            RecordingError: the recording cannot be continued; nothing was decoded then.
            CalibrationError: the certificate does not fit the board.
        """
        self.fresh = []
        self._intake.record(records)
        if isinstance(records, ChunkRun):
            return self._decode(records)
        outcomes: list[Outcome] = []
        for kind, group in groupby(records, type):
            if kind is Chunk:
                chunks = [record for record in group if isinstance(record, Chunk)]
                outcomes += self._decode(chunks)
            else:
                for record in group:
                    if isinstance(record, Event):
                        outcomes += self._hear(record)
        return outcomes

    def judge(self) -> list[Outcome]:
        """Look for holds in all that was read since the last call.

        Returns:
            Finished reps and contacts, in order.
        """
        outcomes: list[Outcome] = []
        blocks, self._unjudged = self._unjudged, []
        if self._detector is not None:
            for force in blocks:
                outcomes += self._judge(self._detector.feed(force))
        return outcomes

    def feed_counts(self, blocks: Sequence[CountBlock], quantity: Quantity) -> list[Outcome]:
        """Take readings that need no decoder (a table).

        Args:
            blocks: readings in order.
            quantity: what they are.

        Returns:
            Finished reps, contacts and gaps, in order.
        """
        self.fresh = []
        return self._force(self._intake.time(blocks, quantity)) + self.judge()

    def finish(self) -> list[Outcome]:
        """End the stream and give out what is still under way.

        Returns:
            The last reps, contacts and gaps; a hold that never ended is incomplete.
        """
        outcomes = self._force(self._intake.finish()) + self.judge()
        if self._detector is not None:
            outcomes += self._judge(self._detector.finish())
        return outcomes

    def _decode(self, chunks: Sequence[Chunk]) -> list[Outcome]:
        """Decode chunks; one at a time until the detector stands.

        It is set up by what the board has said of itself until then, which must not depend on
        how the chunks were grouped.
        """
        outcomes: list[Outcome] = []
        at = 0
        while at < len(chunks) and not self._stands:
            outcomes += self._force(self._intake.read([chunks[at]]))
            at += 1
        if at < len(chunks):
            outcomes += self._force(self._intake.read(chunks[at:]))
        return outcomes

    @property
    def _stands(self) -> bool:
        is_set_up = self._intake.is_timed
        return is_set_up and (self._detector is not None or self._calibration.now is None)

    def _force(self, blocks: Sequence[TimedBlock]) -> list[Outcome]:
        outcomes: list[Outcome] = []
        self._calibration.agree(self._intake.quantity)
        for block in blocks:
            outcomes += self._gaps.feed(block)
            if self._calibration.now is None:
                continue
            force = self._calibration.now.feed(block)
            self.fresh.append(force)
            if self._detector is None:
                self._settling_s = self.settling_s
                self._detector = HoldDetector(self._settling_s)
            self._unjudged.append(force)
        return outcomes

    def _hear(self, event: Event) -> list[Outcome]:
        outcomes: list[Outcome] = []
        if event.kind in BREAKS:
            outcomes = self._force(self._intake.break_off())
        # what came before is judged by what was called out before, however calls are grouped
        outcomes += self.judge()
        self._calibration.hear(event)
        at_s, u_s = self._intake.to_stream_s(event.at_us)
        self._calls.hear(event, at_s, u_s)
        if event.kind == TYPED:
            outcomes = [*outcomes, self._typed(event)]
        return outcomes

    def _typed(self, event: Event) -> Rep:
        """Make the rep of a number that was typed."""
        asked = self._setup.prescription or self._calls.prescription_at(event.at_us * 1e-6)
        if self._calibration.now is None:
            self._calibration.agree(Quantity.N)
        self._typed_numbers += 1
        return typed_rep(event, asked)

    def _judge(self, found: Sequence[Hold | Contact]) -> list[Outcome]:
        return [self._rep(one) if isinstance(one, Hold) else one for one in found]

    def _rep(self, hold: Hold) -> Rep:
        hold = self._calls.with_go(hold)
        prescription = self._setup.prescription or self._calls.prescription_at(hold.onset_s)
        calibration = self.calibration
        has_creep = calibration is not None and calibration.has_creep
        values = measure(hold, prescription, CREEP_CERTIFIED if has_creep else DEFAULT_SETTINGS)
        held_s = values["held_time"].value
        end_s = float(hold.force.time_s[-1]) if held_s is None else hold.onset_s + held_s
        trace = Trace(hold.force.time_s, hold.force.force_N)
        shares = bricks(trace, hold.onset_s, end_s, prescription, hold.level_N)
        return Rep(hold, prescription, values, shares, judge(hold, values, prescription))
