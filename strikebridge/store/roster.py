"""Athletes and groups, kept. Nothing of an under-age athlete is written without consent.

The check stands here, before the first byte goes to the database, and not only where a coach
types: whatever way an athlete comes in, it comes through `add`, `add_all` or `change`.
"""

from __future__ import annotations

import difflib
from collections import defaultdict
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, TypeVar

from sqlalchemy import delete, func, select
from sqlalchemy.orm import selectinload

from strikebridge.club.athlete import mass_fault, name_fault, name_key, tidy_name
from strikebridge.club.consent import age_fault, consent_fault, day_fault
from strikebridge.errors import ConsentError, RosterError
from strikebridge.store.models import (
    AthleteRow,
    BodyMassRow,
    CareRow,
    ClosedTurnRow,
    CueRow,
    GroupRow,
    MembershipRow,
    RepRow,
    SessionAthleteRow,
)
from strikebridge.store.rows import athlete_from, athlete_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from sqlalchemy.orm import Session

    from strikebridge.club.athlete import Athlete
    from strikebridge.store.database import Store

T = TypeVar("T")
_WHOLE = (
    selectinload(AthleteRow.masses),
    selectinload(AthleteRow.cares),
    selectinload(AthleteRow.groups),
)


def local_day() -> date:
    """Say which day it is here."""
    return datetime.now().astimezone().date()


class Roster:
    """The athletes of one database."""

    def __init__(self, store: Store, day: Callable[[], date] = local_day) -> None:
        """Open the roster.

        Args:
            store: the database.
            day: says which day it is.
        """
        self._store = store
        self._day = day

    def all(self, group: str | None = None) -> tuple[Athlete, ...]:
        """List athletes by name.

        Args:
            group: name of a group, None for everybody.

        Raises:
            RosterError: there is no such group.
            StoreError: the database cannot be read.
        """
        query = select(*AthleteRow.__table__.columns).order_by(AthleteRow.name_key)
        with self._store.reading() as session:
            if group is not None:
                found = _group(session, group)
                query = query.join(AthleteRow.groups).where(GroupRow.id == found.id)
            rows = session.execute(query).all()
            # as plain rows: to make objects of the database's takes four times as long
            weighings = select(
                BodyMassRow.athlete_id, BodyMassRow.weighed_on, BodyMassRow.mass_kg
            )
            masses = _by_athlete(
                (who, (day, mass_kg)) for who, day, mass_kg in session.execute(weighings)
            )
            reminders = select(CareRow.athlete_id, CareRow.care)
            cares = _by_athlete((who, care) for who, care in session.execute(reminders))
            members = select(MembershipRow.athlete_id, GroupRow.name).join(
                GroupRow, GroupRow.id == MembershipRow.group_id
            )
            groups = _by_athlete((who, name) for who, name in session.execute(members))
            return tuple(
                athlete_from(row, masses[row.id], cares[row.id], groups[row.id]) for row in rows
            )

    def find(self, who: str) -> Athlete:
        """Find one athlete.

        Args:
            who: name, whatever its capitals, or id.

        Raises:
            RosterError: there is nobody like that.
            StoreError: the database cannot be read.
        """
        with self._store.reading() as session:
            return athlete_of(_athlete(session, who))

    def add(self, athlete: Athlete) -> None:
        """Take in one athlete.

        Args:
            athlete: the athlete.

        Raises:
            ConsentError: under age without consent; nothing was written.
            RosterError: the name is there already, or a value will not do.
            StoreError: the database cannot be written.
        """
        self.add_all([athlete])

    def add_all(self, athletes: Sequence[Athlete]) -> None:
        """Take in several athletes, all of them or none.

        Args:
            athletes: the athletes.

        Raises:
            ConsentError: one is under age without consent; nothing was written.
            RosterError: a name is there already, or a value will not do.
            StoreError: the database cannot be written.
        """
        tidied = [self._checked(athlete) for athlete in athletes]
        with self._store.writing() as session:
            taken = _names(session)
            groups = {row.name_key: row for row in session.scalars(select(GroupRow))}
            for athlete in tidied:
                key = name_key(athlete.name)
                if key in taken:
                    raise RosterError(_taken_words(athlete.name))
                taken.add(key)
                row = AthleteRow(id=athlete.id)
                _write(row, athlete, groups)
                session.add(row)

    def add_if_empty(self, athletes: Sequence[Athlete]) -> bool:
        """Take in athletes where there is nobody yet, as a demonstration does.

        Args:
            athletes: the athletes.

        Returns:
            True if they were taken in.

        Raises:
            StoreError: the database cannot be written.
        """
        with self._store.reading() as session:
            if session.scalar(select(func.count()).select_from(AthleteRow)):
                return False
        self.add_all(athletes)
        return True

    def change(self, athlete: Athlete) -> None:
        """Put an athlete's new values in place of the old ones; the id says whose.

        Args:
            athlete: all values, masses and groups among them.

        Raises:
            ConsentError: it would leave an under-age athlete without consent.
            RosterError: there is nobody with this id, the name is another athlete's, or a value
                will not do.
            StoreError: the database cannot be written.
        """
        tidied = self._checked(athlete)
        with self._store.writing() as session:
            row = _athlete(session, tidied.id)
            if name_key(tidied.name) in _names(session) - {row.name_key}:
                raise RosterError(_taken_words(tidied.name))
            groups = {one.name_key: one for one in session.scalars(select(GroupRow))}
            _write(row, tidied, groups)
            session.flush()
            _drop_empty_groups(session)

    def remove(self, who: str) -> Athlete:
        """Take back an entry that was a slip; whoever has done something stays.

        Args:
            who: name or id.

        Returns:
            Who was removed.

        Raises:
            RosterError: there is nobody like that, or there are sessions of this athlete.
            StoreError: the database cannot be written.
        """
        with self._store.writing() as session:
            row = _athlete(session, who)
            gone = athlete_of(row)
            for table in (RepRow, ClosedTurnRow, CueRow, SessionAthleteRow):
                if session.scalar(select(table).where(table.athlete_id == row.id).limit(1)):
                    raise RosterError(
                        f"{gone.name} has taken part in a session and is not removed. Nothing "
                        "was changed."
                    )
            session.delete(row)
            session.flush()
            _drop_empty_groups(session)
        self._store.forget()
        return gone

    def groups(self) -> dict[str, int]:
        """List the groups by name, each with how many athletes are in it.

        Raises:
            StoreError: the database cannot be read.
        """
        query = (
            select(GroupRow.name, func.count(MembershipRow.athlete_id).label("athletes"))
            .join(MembershipRow, MembershipRow.group_id == GroupRow.id)
            .group_by(GroupRow.id)
            .order_by(GroupRow.name_key)
        )
        with self._store.reading() as session:
            return {row.name: row.athletes for row in session.execute(query)}

    def put_in(self, group: str, people: Iterable[str]) -> tuple[Athlete, ...]:
        """Put athletes into a group; the first one makes it.

        Args:
            group: name of the group.
            people: names or ids.

        Returns:
            Those named, as they are now.

        Raises:
            RosterError: somebody is not in the roster, or the name of the group will not do.
            StoreError: the database cannot be written.
        """
        tidied = _group_name(group)
        with self._store.writing() as session:
            rows = [_athlete(session, who) for who in people]
            known = {one.name_key: one for one in session.scalars(select(GroupRow))}
            into = _known_group(known, tidied)
            for row in rows:
                if into not in row.groups:
                    row.groups.append(into)
            return tuple(athlete_of(row) for row in rows)

    def take_out(self, group: str, people: Iterable[str]) -> tuple[Athlete, ...]:
        """Take athletes out of a group; with its last one the group is gone.

        Args:
            group: name of the group.
            people: names or ids; whoever is not in the group is passed over.

        Returns:
            Those named, as they are now.

        Raises:
            RosterError: there is no such group, or somebody is not in the roster.
            StoreError: the database cannot be written.
        """
        with self._store.writing() as session:
            out_of = _group(session, group)
            rows = [_athlete(session, who) for who in people]
            for row in rows:
                if out_of in row.groups:
                    row.groups.remove(out_of)
            session.flush()
            _drop_empty_groups(session)
            return tuple(athlete_of(row) for row in rows)

    def _checked(self, athlete: Athlete) -> Athlete:
        """Tidy the words of an athlete, and refuse what may not be stored."""
        tidied = replace(
            athlete,
            name=tidy_name(athlete.name),
            groups=tuple(_group_name(group) for group in athlete.groups),
        )
        today = self._day()
        refused = consent_fault(tidied, today)
        if refused:
            raise ConsentError(refused)
        faults = [name_fault(tidied.name), age_fault(tidied, today)]
        if tidied.consent is not None:
            faults.append(day_fault(tidied.consent.given_on, today))
        for mass in tidied.masses:
            faults += [mass_fault(mass.mass_kg), day_fault(mass.weighed_on, today)]
        for fault in faults:
            if fault:
                raise RosterError(f"{tidied.name or 'Nobody'} was not stored: {fault}")
        return tidied


def _write(row: AthleteRow, athlete: Athlete, groups: dict[str, GroupRow]) -> None:
    """Put an athlete's values into a row; groups that are new join `groups`."""
    row.name, row.name_key = athlete.name, name_key(athlete.name)
    row.stance, row.age_group = athlete.stance.value, athlete.age_group.value
    row.born_year, row.note = athlete.born_year, athlete.note
    row.consent_on = None if athlete.consent is None else athlete.consent.given_on
    row.consent_by = None if athlete.consent is None else athlete.consent.given_by
    held = {mass.weighed_on: mass for mass in row.masses}
    wanted = {mass.weighed_on: mass.mass_kg for mass in athlete.masses}
    for day, mass_kg in wanted.items():
        if day in held:
            held[day].mass_kg = mass_kg
        else:
            row.masses.append(BodyMassRow(weighed_on=day, mass_kg=mass_kg))
    row.masses[:] = [mass for mass in row.masses if mass.weighed_on in wanted]
    cares = {care.care: care for care in row.cares}
    row.cares[:] = [cares.get(care) or CareRow(care=care.value) for care in athlete.cares]
    row.groups[:] = [_known_group(groups, group) for group in dict.fromkeys(athlete.groups)]


def _known_group(known: dict[str, GroupRow], name: str) -> GroupRow:
    """Find a group among those there are, or make it."""
    key = name_key(name)
    if key not in known:
        known[key] = GroupRow(name=name, name_key=key)
    return known[key]


def _group_name(name: str) -> str:
    tidied = tidy_name(name)
    fault = name_fault(tidied)
    if fault:
        raise RosterError(f"The group was not stored: {fault}")
    return tidied


def _by_athlete(rows: Iterable[tuple[str, T]]) -> defaultdict[str, list[T]]:
    found: defaultdict[str, list[T]] = defaultdict(list)
    for athlete, what in rows:
        found[athlete].append(what)
    return found


def _names(session: Session) -> set[str]:
    return set(session.scalars(select(AthleteRow.name_key)))


def _taken_words(name: str) -> str:
    return (
        f"There is an athlete {name} already, and nothing was changed. Add a letter or use an "
        "alias, so that the right one is called."
    )


def _athlete(session: Session, who: str) -> AthleteRow:
    """Find the row of a name or an id."""
    query = select(AthleteRow).options(*_WHOLE)
    row = session.scalar(query.where(AthleteRow.name_key == name_key(who)))
    row = row or session.scalar(query.where(AthleteRow.id == who))
    if row is None:
        names = session.scalars(select(AthleteRow.name)).all()
        raise RosterError(f"There is no athlete {who}. {_like_words(who, names)}")
    return row


def _group(session: Session, name: str) -> GroupRow:
    row = session.scalar(select(GroupRow).where(GroupRow.name_key == name_key(name)))
    if row is None:
        names = session.scalars(select(GroupRow.name)).all()
        raise RosterError(f"There is no group {name}. {_like_words(name, names)}")
    return row


def _like_words(word: str, names: Sequence[str]) -> str:
    """Offer the name that was likely meant."""
    by_key = {name_key(name): name for name in names}
    close = [key for key in by_key if name_key(word) in key.split()]
    close = close or difflib.get_close_matches(name_key(word), by_key, n=1)
    if close:
        return f"Did you mean {by_key[close[0]]}?"
    return "See who there is: strikebridge athletes list."


def _drop_empty_groups(session: Session) -> None:
    in_use = select(MembershipRow.group_id)
    session.execute(delete(GroupRow).where(GroupRow.id.not_in(in_use)))
