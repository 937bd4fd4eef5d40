"""What a board does while one looks on: shape, rate, noise, drift, losses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.address import ANY_SHAPE, make_decoder, open_link
from strikebridge.boards.described_lines import DESCRIBED, DescribedLinesDecoder
from strikebridge.boards.recognising.roles import ASK_UNIT
from strikebridge.boards.replay_link import ReplayLink
from strikebridge.boards.shape_finder import ShapeFinder
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.boards.strikebridge_lines import REQUEST
from strikebridge.errors import BoardSilentError
from strikebridge.samples import Chunk, Event, Quantity
from strikebridge.timebase import Timebase

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from strikebridge.boards.line_shape import LineShape
    from strikebridge.boards.link import Decoder
    from strikebridge.samples import CountBlock, Floats, TimedBlock

WAIT_S = 0.1
FEWEST_SECONDS = 4  # before a drift is more than noise
SLOW_HZ = 60.0  # below this the measures withhold the times of the rise
SHORTEST_STRETCH = 4  # readings in a second that have a spread


@dataclass(frozen=True, slots=True)
class BoardReport:
    """What was seen of a board.

    Attributes:
        address: its address.
        identity: what it says of itself in words, None if nothing.
        understood: True if its lines could be read.
        shape: shape of its lines, as `--shape` takes it.
        quantity: what its numbers are.
        channels: readings a line.
        first: first reading, one value a channel, in `quantity`.
        last: last reading.
        readings: how many there were.
        rate_hz: real sampling rate [1/s], None if too few came.
        noise_sd: SD within a second about its straight line, median over the seconds, sum of
            the channels, in `quantity`; None if too few came.
        drift_per_min: median slope of the seconds' medians, in `quantity` a minute; None as
            above.
        lost: readings known to be missing.
        unreadable_lines: lines that were no reading and no comment.
        questions: what has to be asked of the user.
        remarks: what a coach should know of it, in whole sentences.
    """

    address: str
    identity: str | None
    understood: bool
    shape: str
    quantity: Quantity
    channels: int
    first: tuple[float, ...]
    last: tuple[float, ...]
    readings: int
    rate_hz: float | None
    noise_sd: float | None
    drift_per_min: float | None
    lost: int
    unreadable_lines: int
    questions: tuple[str, ...]
    remarks: tuple[str, ...] = ()


class BoardWatch:
    """Collect what is needed for a report."""

    def __init__(self, address: str, decoder: Decoder) -> None:
        """Begin.

        Args:
            address: address of the board.
            decoder: reads its lines.
        """
        self._address = address
        self._decoder = decoder
        self._timebase: Timebase | None = None
        self._times: list[Floats] = []
        self._sums: list[Floats] = []
        self._first: tuple[float, ...] = ()
        self._last: tuple[float, ...] = ()
        self._number = -1
        self._lost = 0
        self.readings = 0

    def feed(self, chunks: Sequence[Chunk]) -> None:
        """Take what arrived.

        Args:
            chunks: in order of arrival.
        """
        self._take(self._decoder.feed(chunks))

    def report(self) -> BoardReport:
        """Close the watch and say what was seen."""
        self._take(self._decoder.finish())
        if self._timebase is not None:
            self._keep(self._timebase.finish())
        decoder, rate_hz = self._decoder, None
        line_shape = self.line_shape
        if self._timebase is not None:
            rate_hz = self._timebase.rate_hz
        noise, drift = _noise_and_drift(self._times, self._sums)
        identity = decoder.identity
        words = None
        if identity is not None:
            words = f"{identity.board} {identity.firmware}, {identity.converter}"
        return BoardReport(
            self._address,
            words,
            self.readings > 0,
            str(line_shape) if decoder.shape == DESCRIBED and line_shape else decoder.shape,
            decoder.quantity,
            decoder.channels,
            self._first,
            self._last,
            self.readings,
            rate_hz,
            noise,
            drift,
            self._lost,
            decoder.unreadable,
            self._questions(),
            (*_what_it_carries(rate_hz), *decoder.remarks),
        )

    @property
    def line_shape(self) -> LineShape | None:
        """The description of the lines, None where they are our own or not understood."""
        decoder = self._decoder
        if isinstance(decoder, ShapeFinder):
            decoder = decoder.found or decoder
        return decoder.line_shape if isinstance(decoder, DescribedLinesDecoder) else None

    def _questions(self) -> tuple[str, ...]:
        decoder = self._decoder
        if isinstance(decoder, ShapeFinder) and decoder.finding.questions:
            return decoder.finding.questions
        if self.readings and decoder.quantity is Quantity.UNKNOWN:
            return (ASK_UNIT,)
        return ()

    def hear(self, event: Event) -> None:
        """Hear of another baud rate: what came before it is noise.

        Args:
            event: of the link.
        """
        if event.kind == "baud":
            self._take(self._decoder.finish())

    def _take(self, blocks: Sequence[CountBlock]) -> None:
        for block in blocks:
            if self._timebase is None:
                identity = self._decoder.identity
                self._timebase = Timebase(None if identity is None else identity.rate_hz)
            if not self._first:
                self._first = tuple(float(value) for value in block.counts[0])
            self._last = tuple(float(value) for value in block.counts[-1])
            self.readings += len(block)
            self._keep(self._timebase.feed(block))

    def _keep(self, blocks: Sequence[TimedBlock]) -> None:
        for block in blocks:
            self._times.append(block.time_s)
            self._sums.append(block.counts.sum(axis=1))
            if self._number >= 0:
                self._lost += int(block.number[-1]) - self._number - len(block)
            else:
                self._lost += int(block.number[-1] - block.number[0]) + 1 - len(block)
            self._number = int(block.number[-1])


def _why_silent(address: str) -> str:
    """Say what to look at where nothing comes."""
    if address.startswith(("ble:", "advert:")):
        return "Many scales sleep until they are loaded: load it, come nearer, try again."
    return "Check that the board has power, and that its sketch writes lines at this baud rate."


def _what_it_carries(rate_hz: float | None) -> tuple[str, ...]:
    """Say what a slow board or scale is good for; a fast one needs no words."""
    if rate_hz is None or rate_hz >= SLOW_HZ:
        return ()
    carries = "carry the hold force and a rough peak; everything about the rise is withheld."
    return (f"{rate_hz:.1f} readings a second {carries}",)


def _noise_and_drift(
    times: list[Floats], sums: list[Floats]
) -> tuple[float | None, float | None]:
    """Spread within the seconds, and median slope from second to second a minute."""
    if not times:
        return None, None
    time_s, value = np.concatenate(times), np.concatenate(sums)
    good = np.isfinite(value)
    time_s, value = time_s[good], value[good]
    spreads, middles = [], []
    for stretch_s in np.unique(np.floor(time_s)):
        inside = np.floor(time_s) == stretch_s
        if np.count_nonzero(inside) < SHORTEST_STRETCH:
            continue
        here_s = time_s[inside] - stretch_s
        line = np.polynomial.Polynomial.fit(here_s, value[inside], 1)
        left = value[inside] - line(here_s)
        spreads.append(float(np.sqrt(left @ left / (len(left) - 2))))
        middles.append((stretch_s, float(np.median(value[inside]))))
    if len(middles) < FEWEST_SECONDS:
        return (float(np.median(spreads)) if spreads else None), None
    at_s, middle = np.array(middles).T
    i, j = np.triu_indices(len(at_s), 1)
    slopes = (middle[j] - middle[i]) / (at_s[j] - at_s[i])
    return float(np.median(spreads)), float(np.median(slopes)) * 60.0


async def watch_board(
    address: str,
    seconds: float,
    tell: Callable[[int, float], None],
    shape: str = ANY_SHAPE,
) -> BoardWatch:
    """Look on at a board for a while; nothing is recorded.

    Args:
        address: address of the board.
        seconds: how long [s].
        tell: called about every 0.1 s with readings so far and seconds over, for a progress
            line.
        shape: shape of its lines, `auto` to find out.

    Returns:
        What was seen; `report` closes it.

    Raises:
        BoardError: there is no board, or it went away.
        BoardSilentError: not a single byte came.
    """
    link = open_link(address)
    queue = StreamQueue()
    if isinstance(link, ReplayLink) and shape == ANY_SHAPE:
        shape = link.header.shape
    watch = BoardWatch(link.address, make_decoder(shape))
    has_heard = False
    await link.open(queue)
    try:
        await link.send(REQUEST)
        while queue.now_us() < seconds * 1e6:
            records = await queue.take(timeout_s=WAIT_S)
            if records is None:
                break
            for record in records:
                if isinstance(record, Event):
                    watch.hear(record)
                else:
                    has_heard = True
                    watch.feed([record])
            tell(watch.readings, queue.now_us() * 1e-6)
    finally:
        await link.close()
    if not has_heard:
        raise BoardSilentError(
            f"{link.address} is open, but nothing came from it in {seconds:g} s. "
            f"{_why_silent(link.address)}",
            address=link.address,
        )
    return watch
