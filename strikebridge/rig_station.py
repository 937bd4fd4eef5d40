"""One rig, live: a coach is led through a calibration or a check while readings come.

Whoever leads (`PlateWalk`, a check) is a state machine without a clock; here it gets timed
readings and keys on the acquisition thread. What it calls out goes into the recording and to
the board, where an invented hand may be listening. Screens and terminal get its frozen view.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from enum import StrEnum
from itertools import groupby
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

from typing_extensions import override

from strikebridge.acquisition import Acquisition
from strikebridge.intake import BREAKS, Intake
from strikebridge.samples import Chunk, Event, Quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from _typeshed import DataclassInstance

    from strikebridge.acquisition import Stream
    from strikebridge.boards.link import Link
    from strikebridge.calibration.walk_setup import WalkCall
    from strikebridge.samples import Identity, Record, TimedBlock

Key = TypeVar("Key", bound=StrEnum)
Key_contra = TypeVar("Key_contra", bound=StrEnum, contravariant=True)
View = TypeVar("View", bound="DataclassInstance")
View_co = TypeVar("View_co", bound="DataclassInstance", covariant=True)
ENDING = ("quit", "cancel")
"""Keys that are heard even if no reading ever came."""


class Led(Protocol[Key_contra, View_co]):
    """Something that leads a coach, by readings and keys; its view has a field `trouble`."""

    @property
    def has_ended(self) -> bool:
        """Say whether it is over."""
        ...

    def feed(self, blocks: Sequence[TimedBlock]) -> list[WalkCall]:
        """Take readings; give what is called out because of them."""
        ...

    def press(self, key: Key_contra) -> list[WalkCall]:
        """Hear a key; give what is called out because of it."""
        ...

    def lose(self) -> None:
        """Hear that the stream broke."""
        ...

    def view(self) -> View_co:
        """Say what is to be shown."""
        ...


class RigStation(Acquisition, Generic[Key, View]):
    """Lead a coach at one rig, on a thread of its own; it ends when the led one has ended."""

    SAFE = "What was taken so far is safe."

    def __init__(self, stream: Stream, make: Callable[[Quantity], Led[Key, View]]) -> None:
        """Prepare; `start` begins.

        Args:
            stream: which board, and where it is recorded.
            make: makes the one that leads, for readings of a quantity; called again should the
                board turn out to send something else than counts.
        """
        super().__init__(stream)
        self._make = make
        self._led = make(Quantity.COUNT)
        self._quantity = Quantity.COUNT
        self._keys: deque[Key] = deque()
        self._intake: Intake | None = None
        self._calls: list[WalkCall] = []
        self._view = self._led.view()

    def press(self, key: Key) -> None:
        """Press a key; any thread.

        Args:
            key: what the coach pressed.
        """
        self._keys.append(key)

    def end(self, key: Key) -> None:
        """Let go of the board first, then press a key: for when the board is gone.

        Args:
            key: the key that ends it.
        """
        self.stop()
        self._led.press(key)
        self._show()

    def view(self) -> View:
        """Give the newest view; any thread."""
        self._is_woken = False
        return self._view

    @property
    def led(self) -> Led[Key, View]:
        """The one that leads, to be read once the stream has ended."""
        return self._led

    @property
    def identity(self) -> Identity | None:
        """What the board said of itself, None where it said nothing."""
        return self._identity

    @property
    def channels(self) -> int:
        """Cells of the board, 0 before its first reading."""
        return 0 if self._decoder is None else self._decoder.channels

    @override
    def _look_up(self, link: Link) -> None:
        """Nothing has to be known beforehand."""

    @override
    def _prepare(self, link: Link, now_us: int) -> None:
        self._intake = Intake(self._decoder, recorder=self._recorder)

    @override
    def _feed(self, records: Sequence[Record]) -> None:
        intake = self._intake
        if intake is None:
            return
        intake.record(records)
        for kind, group in groupby(records, type):
            if kind is Chunk:
                chunks = [record for record in group if isinstance(record, Chunk)]
                self._lead(intake.read(chunks))
                continue
            kinds = {record.kind for record in group if isinstance(record, Event)}
            if kinds & {*BREAKS}:
                self._lead(intake.break_off())
            if "lost" in kinds:
                self._led.lose()

    def _lead(self, blocks: Sequence[TimedBlock]) -> None:
        intake = self._intake
        if intake is not None and blocks and intake.quantity is not self._quantity:
            self._quantity = intake.quantity
            self._led = self._make(self._quantity)
        self._calls += self._led.feed(blocks)

    @override
    async def _act(self, link: Link) -> bool:
        has_begun = self._intake is not None and self._intake.readings > 0
        has_pressed = bool(self._keys)
        if not has_begun and any(key.value in ENDING for key in self._keys):
            # what was pressed before it waits for readings, which may never come
            while self._keys[0].value not in ENDING:
                self._keys.popleft()
        while self._keys and (has_begun or self._keys[0].value in ENDING):
            self._calls += self._led.press(self._keys.popleft())
        calls, self._calls = self._calls, []
        for call in calls:
            event = Event(call.kind, self._now_us, call.detail)
            if link.is_replay:
                continue  # the recording already holds what was called out then
            self._feed([event])
            await link.hear(event)
        if self._led.has_ended:
            self._stopping.set()
        return bool(calls) or has_pressed

    @override
    def _finish(self) -> None:
        if self._intake is not None:
            self._lead(self._intake.finish())

    @override
    def _show(self) -> None:
        self._view = replace(self._led.view(), trouble=self._trouble)

    @override
    def _bide(self) -> None:
        self._keys.clear()  # pressed at a rig without a board
