"""What is kept of a session as it goes on: events for its recording, reps for the database.

The recording gets random ids alone, never a name and never free text, so that an athlete can be
erased without writing it anew.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from strikebridge.calls import prescribed
from strikebridge.club.athlete import hand_of
from strikebridge.club.exercise import Way
from strikebridge.club.training import RepRecord
from strikebridge.samples import Event
from strikebridge.session.happenings import (
    Called,
    Closed,
    Done,
    Prescribed,
    Reopened,
    TakenBack,
    Turned,
)

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from strikebridge.club.athlete import Athlete, Hand
    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.session.happenings import Happening
    from strikebridge.session.turns import Turn

_KINDS: Mapping[type, str] = {
    Done: "done",
    Closed: "closed",
    TakenBack: "taken back",
    Reopened: "reopened",
}
"""What happened to a turn -> the event that the recording keeps of it."""


@dataclass(frozen=True, slots=True)
class SessionNotes:
    """Put what happens into what is kept of it.

    Attributes:
        session: id of the session.
        athletes: id -> athlete, everybody of the session.
        rig_setup: how wall and fist are set up.
        recording: name of the recording's file, None without one.
    """

    session: str
    athletes: Mapping[str, Athlete]
    rig_setup: RigSetup
    recording: str | None

    def event(self, one: Happening, at_us: int) -> Event | None:
        """Write what the recording keeps of it.

        Args:
            one: what happened.
            at_us: the stream's clock [us].

        Returns:
            The event, None where nothing is kept.
        """
        if isinstance(one, Turned):
            return self._turn(one.turn, at_us)
        if isinstance(one, Prescribed):
            return prescribed(one.prescription, at_us)
        if isinstance(one, Called):
            return Event(one.call.value, at_us)
        kind = _KINDS.get(type(one))
        if kind is None or not isinstance(one, (Done, Closed, TakenBack, Reopened)):
            return None
        detail: dict[str, str | float | int | None] = {"turn": one.turn.number}
        if isinstance(one, Closed):
            detail["why"] = one.why.value
        return Event(kind, at_us, detail)

    def _turn(self, turn: Turn, at_us: int) -> Event:
        hand = self.hand(turn)
        detail: dict[str, str | float | int | None] = {
            "session": self.session,
            "turn": turn.number,
            "athlete": turn.athlete,
            "place": turn.place,
            "exercise": turn.exercise.key,
            "hand": None if hand is None else hand.value,
            "set": turn.set_number,
            "rep": turn.rep_number,
        }
        return Event("turn", at_us, detail)

    def record(self, done: Done, at: datetime) -> RepRecord:
        """Write a turn that is done as it is kept.

        Args:
            done: the turn, with its hold where it has one.
            at: when it was over, with its zone.
        """
        turn, rep = done.turn, done.rep
        record = RepRecord(
            session=self.session,
            turn=turn.number,
            athlete=turn.athlete,
            exercise=turn.exercise.key,
            set_number=turn.set_number,
            rep_number=turn.rep_number,
            ended_at=at,
            attempt=done.attempt,
            hand=self.hand(turn),
            stance=self.athletes[turn.athlete].stance,
            prescription=done.prescription,
            way=Way.TIMED,
            cue=done.cue,
            recording=self.recording,
        )
        if rep is None:
            return record
        hold, verdict = rep.hold, rep.verdict
        return replace(
            record,
            way=Way.MEASURED,
            setup=self.rig_setup,
            prescription=rep.prescription,
            rise=verdict.rise,
            hold=verdict.hold,
            faults=verdict.faults,
            sentence=verdict.sentence,
            detail=verdict.detail,
            certificate=hold.force.calibration,
            start_s=float(hold.force.time_s[0]),
            end_s=float(hold.force.time_s[-1]),
            go_s=hold.go_s,
            measures=rep.measures,
        )

    def hand(self, turn: Turn) -> Hand | None:
        """Say which hand a turn is for, None where both work.

        Args:
            turn: the turn.
        """
        side = turn.exercise.side
        return None if side is None else hand_of(side, self.athletes[turn.athlete].stance)
