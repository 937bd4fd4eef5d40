"""A recording played back: the same chunks and events, at their own times or faster."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import TYPE_CHECKING

from strikebridge.calibration.certificate_file import certificate_from_json
from strikebridge.errors import AddressError, RecordingError
from strikebridge.recording import RecordingReader
from strikebridge.samples import Event

if TYPE_CHECKING:
    from strikebridge.boards.address import Address
    from strikebridge.boards.stream_queue import StreamQueue
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.recording import Header
    from strikebridge.samples import Record

AT_ONCE = 500  # records handed over together when there is no pace to keep


class ReplayLink:
    """Deliver the records of a file.

    Attributes:
        address: `replay:<file>?speed=4`; `speed=max` plays as fast as it can be read.
        certificate: the certificate that the recording carries, or None.
        header: header of the recording.
        is_stamped: True; the records bring their own times.
        is_replay: True; go and prescription are among the records.
    """

    is_stamped = True
    is_replay = True

    def __init__(self, address: Address) -> None:
        """Read the header.

        Args:
            address: address of the file.

        Raises:
            RecordingError: no such file, or no recording.
            AddressError: the address names no file, or has an option that is unknown.
        """
        if not address.path:
            raise AddressError(
                "The address replay: names no file. Write replay:<file>.", address=str(address)
            )
        self.address = str(address)
        address.check_options(("speed", "shape"))
        self._speed: float | None = None
        if address.options.get("speed") != "max":
            self._speed = address.number("speed", 1.0, low=0.01, high=1000.0)
        self._reader = RecordingReader(Path(address.path))
        self.header: Header = self._reader.header
        stored = self.header.calibration
        self.certificate: Certificate | None = (
            None if stored is None else certificate_from_json(stored)
        )
        self._task: asyncio.Task[None] | None = None

    async def open(self, queue: StreamQueue) -> None:
        """Begin to deliver into `queue`."""
        self._task = asyncio.create_task(self._play(queue))

    async def _play(self, queue: StreamQueue) -> None:
        try:
            for n, record in enumerate(self._reader, start=1):
                if self._speed is None:
                    if n % AT_ONCE == 0:
                        await asyncio.sleep(0.0)  # let the reader of the queue keep up
                else:
                    await self._wait_for(queue, record)
                queue.put(record)
        except RecordingError as error:
            queue.fail(error)
            return
        queue.end()

    async def _wait_for(self, queue: StreamQueue, record: Record) -> None:
        at_us = record.at_us if isinstance(record, Event) else record.arrived_us
        speed = self._speed or 1.0
        wait_us = at_us / speed - queue.now_us()
        if wait_us > 0:
            await asyncio.sleep(wait_us * 1e-6)

    async def send(self, data: bytes) -> None:
        """Say nothing: a recording does not listen."""

    async def hear(self, event: Event) -> None:
        """Hear nothing: a recording does not listen."""

    async def close(self) -> None:
        """Stop playing; calling it twice does no harm."""
        if self._task is not None:
            self._task.cancel()
            await asyncio.gather(self._task, return_exceptions=True)
