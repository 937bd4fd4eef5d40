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

from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.certificate import certificate_from_json
from strikebridge.calibration.chooser import certificate_of
from strikebridge.calibration.rating import rating_of
from strikebridge.calls import Calls
from strikebridge.errors import CalibrationError
from strikebridge.holds import HoldDetector
from strikebridge.intake import BREAKS, Intake
from strikebridge.measures import bricks, measure
from strikebridge.samples import (
    Chunk,
    ChunkRun,
    Contact,
    Event,
    ForceBlock,
    Gap,
    Hold,
    Prescription,
    Quantity,
    Rep,
    TimedBlock,
    Trace,
)
from strikebridge.verdict import judge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.boards.link import Decoder
    from strikebridge.recording import Header, RecordingWriter
    from strikebridge.samples import CountBlock, Record

Outcome = Rep | Contact | Gap


@dataclass(frozen=True, slots=True)
class Setup:
    """What is known of a stream before its first byte.

    Attributes:
        calibration: how readings become newtons; None where the readings say so themselves
            (newtons, kilograms) or nobody knows, and then there are no holds.
        nominal_rate_hz: nominal sampling rate [1/s], None if unknown.
        settling_s: settling time of the converter [s], None to take what the board says.
        prescription: what was prescribed, overruling the events of the stream; None to follow
            them.
        rating_N: what one cell is rated for [N], overruling certificate and stream; None to
            follow them.
    """

    calibration: Calibration | None = None
    nominal_rate_hz: float | None = None
    settling_s: float | None = None
    prescription: Prescription | None = None
    rating_N: float | None = None


def setup_for(header: Header, setup: Setup) -> Setup:
    """Fill in from a recording's header what was not said otherwise.

    Args:
        header: header of the recording.
        setup: what was said on the command line or by the screen.

    Returns:
        The setup to run the pipeline with.

    Raises:
        CalibrationError: the certificate in the header cannot be used.
    """
    calibration = setup.calibration
    if calibration is None and header.calibration is not None:
        certificate = certificate_from_json(header.calibration)
        calibration = Calibration.from_certificate(certificate)
    return replace(
        setup,
        calibration=calibration,
        nominal_rate_hz=setup.nominal_rate_hz or header.nominal_rate_hz,
        settling_s=header.settling_s if setup.settling_s is None else setup.settling_s,
    )


class Pipeline:
    """Run every stage in order.

    Attributes:
        fresh: force blocks that the last call of `read` brought, for a live screen.
        lost: samples known to be missing so far.
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
        self._calibration: Calibration | None = None
        self._rating_N = setup.rating_N
        self._take(setup.calibration)
        self._detector: HoldDetector | None = None
        self._settling_s: float | None = None
        self._calls = Calls()
        self._previous: tuple[int, float] | None = None
        self._unjudged: list[ForceBlock] = []
        self.fresh: list[ForceBlock] = []
        self.lost = 0

    @property
    def readings(self) -> int:
        """Samples decoded so far."""
        return self._intake.readings

    @property
    def calibration(self) -> Calibration | None:
        """How readings become newtons, None as long as nobody knows.

        What was set up stays; else a `calibrated` event of the stream says it.
        """
        return self._calibration

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
        return is_set_up and (self._detector is not None or self._calibration is None)

    def _take(self, calibration: Calibration | None) -> None:
        """Use a calibration from here on, with the rating that was said beside it."""
        if calibration is not None and self._rating_N is not None:
            calibration = calibration.rated(self._rating_N)
        self._calibration = calibration

    def _agree(self) -> None:
        """See that the calibration is one for what the readings are."""
        calibration, quantity = self._calibration, self._intake.quantity
        if quantity is Quantity.UNKNOWN:
            return
        if calibration is None and quantity is not Quantity.COUNT:
            self._take(Calibration.of_quantity(quantity))
        meant = None if calibration is None else calibration.quantity or Quantity.COUNT
        if meant not in (None, quantity):
            raise CalibrationError(
                f"The readings are in {quantity}, the calibration is for readings in {meant}. "
                "Leave the calibration out, or give the one made with these readings."
            )

    def _force(self, blocks: Sequence[TimedBlock]) -> list[Outcome]:
        outcomes: list[Outcome] = []
        self._agree()
        for block in blocks:
            outcomes += self._gaps(block)
            if self._calibration is None:
                continue
            force = self._calibration.feed(block)
            self.fresh.append(force)
            if self._detector is None:
                self._settling_s = self.settling_s
                self._detector = HoldDetector(self._settling_s)
            self._unjudged.append(force)
        return outcomes

    def _gaps(self, block: TimedBlock) -> list[Outcome]:
        gaps: list[Outcome] = []
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
        self.lost += sum(gap.lost for gap in gaps if isinstance(gap, Gap))
        return gaps

    def _hear(self, event: Event) -> list[Outcome]:
        outcomes: list[Outcome] = []
        if event.kind in BREAKS:
            outcomes = self._force(self._intake.break_off())
        # what came before is judged by what was called out before, however calls are grouped
        outcomes += self.judge()
        if event.kind == "calibrated" and self._setup.calibration is None:
            self._take(Calibration.from_certificate(certificate_of(event)))
        if event.kind == "rated" and self._setup.rating_N is None:
            self._rating_N = rating_of(event)
            self._take(self._calibration)
        at_s, u_s = self._intake.to_stream_s(event.at_us)
        self._calls.hear(event, at_s, u_s)
        return outcomes

    def _judge(self, found: Sequence[Hold | Contact]) -> list[Outcome]:
        return [self._rep(one) if isinstance(one, Hold) else one for one in found]

    def _rep(self, hold: Hold) -> Rep:
        hold = self._calls.with_go(hold)
        prescription = self._setup.prescription or self._calls.prescription_at(hold.onset_s)
        values = measure(hold, prescription)
        held_s = values["held_time"].value
        end_s = float(hold.force.time_s[-1]) if held_s is None else hold.onset_s + held_s
        trace = Trace(hold.force.time_s, hold.force.force_N)
        shares = bricks(trace, hold.onset_s, end_s, prescription, hold.level_N)
        return Rep(hold, prescription, values, shares, judge(hold, values, prescription))
