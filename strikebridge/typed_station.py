"""A wall without a board: it counts in and down, then takes the number that the coach types."""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from typing import TYPE_CHECKING, cast

from typing_extensions import override

from strikebridge.glance import Phase
from strikebridge.session.conductor import Key
from strikebridge.session.typed_number import TYPING, Typed, TypedNumber
from strikebridge.station import Station
from strikebridge.typed import typed
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from strikebridge.boards.link import Link
    from strikebridge.boards.typed_link import TypedLink
    from strikebridge.glance import Glance, Trouble
    from strikebridge.pipeline import Outcome
    from strikebridge.samples import Record, Rep
    from strikebridge.station import StationSetup

LATE = (Phase.RESULT, Phase.REST, Phase.READY)


class TypedStation(Station):
    """Run a wall on a thread of its own, with a coach in place of a board.

    Attributes:
        entered: how often Enter was pressed, as far as the newest Glance shows what came of it.
    """

    def __init__(
        self,
        setup: StationSetup,
        *,
        on_outcome: Callable[[Outcome], None] | None = None,
        on_remark: Callable[[str], None] | None = None,
    ) -> None:
        """Prepare; `start` begins.

        Args:
            setup: what it is to do; its address is `typed:`.
            on_outcome: see `Station`.
            on_remark: see `Station`.
        """
        plan = replace(setup.plan, is_typed=True)
        super().__init__(replace(setup, plan=plan), on_outcome=on_outcome, on_remark=on_remark)
        self._is_warm = True  # nothing is measured here that needs the special functions
        self._unit = ForceUnit.KG
        self._entry = TypedNumber(self._unit)
        self._go_us = 0
        self._texts: list[str] = []  # what was typed for each rep that counts
        self._is_open = False  # a number is asked for
        self._is_correcting = False
        self._entered = 0
        self.entered = 0

    @override
    def _look_up(self, link: Link) -> None:
        self._unit = cast("TypedLink", link).unit
        self._entry = TypedNumber(self._unit)

    @override
    def _feed(self, records: Sequence[Record]) -> None:
        for record in records:
            if getattr(record, "kind", "") == "go":
                self._go_us = getattr(record, "at_us", 0)
        super()._feed(records)

    @override
    async def _conduct(self, link: Link) -> None:
        self._newest_us = self._now_us  # nothing has to come for time to pass
        self._first_us = self._first_us or self._now_us
        keys, self._keys = self._keys, deque()
        for key in keys:
            self._look()
            if not self._type(key):
                self._keys.append(key)
                await super()._conduct(link)
        await super()._conduct(link)
        self._look()

    def _look(self) -> None:
        """See whether a number is asked for now."""
        conductor = self._conductor
        left_s = conductor.seconds_left(self._now_us * 1e-6)
        if conductor.phase not in LATE:
            self._is_correcting = False
        is_over = conductor.phase is Phase.HOLD and left_s is not None and left_s <= 0.0
        is_open = is_over or self._is_correcting
        if is_over and not self._is_open:
            self._entry.begin()
        self._is_open = is_open

    def _type(self, key: Key) -> bool:
        """Take a key for the number; False where it is none."""
        if not self._is_open:
            if key is Key.RUB and self._conductor.phase in LATE and self._conductor.reps:
                self._is_correcting = self._is_open = True
                self._entry.begin(self._texts[len(self._conductor.reps) - 1])
            return key in TYPING
        if key is Key.GO:
            key = Key.ENTER  # the key of a clicker closes a number as well
        if key not in TYPING:
            return False
        done = self._entry.press(key)
        self._entered += key is Key.ENTER
        if done is not None:
            self._accept(done)
        return True

    def _accept(self, done: Typed) -> None:
        number = len(self._conductor.reps) + (not self._is_correcting)
        self._texts[number - 1 :] = [self._entry.text]
        event = typed(
            number, done.value, done.step, self._unit, go_us=self._go_us, now_us=self._now_us
        )
        self._feed([event])
        self._is_open = self._is_correcting = False

    @override
    def _take(self, rep: Rep) -> None:
        if self._is_correcting:
            self._conductor.correct(rep, self._now_us * 1e-6)
        else:
            super()._take(rep)

    @override
    def _find_trouble(self) -> Trouble | None:
        return None

    @override
    def _show(self) -> None:
        super()._show()
        self.entered = self._entered

    @override
    def _look_at_all(self) -> Glance:
        return replace(
            super()._look_at_all(),
            is_typed=True,
            entry=self._entry.text if self._is_open else None,
            entry_unit=self._unit,
            question=self._entry.question if self._is_open else "",
        )
