"""What a logbook gives back: sessions and entries, as values.

Rule of this file: values only; the database stays in store.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from callout.engine.effects import Record
from callout.engine.events import Event
from callout.logbook import codec
from callout.logbook.errors import DamagedError, EntryError
from callout.logbook.stamp import Stamp


@dataclass(frozen=True, slots=True)
class SessionRow:
    """One session.

    Fields:
        session: its number
        aircraft, revision, file, fingerprint: as given to `begin`
        began: when it began
        last: when the last entry or sample was written (`began` if there is none)
        ticks: how many facts "ticked" it holds
        ended: when it ended, None while it has not
        how: how it ended ("" while it has not)
    """

    session: int
    aircraft: str
    revision: str
    file: str
    fingerprint: str
    began: Stamp
    last: Stamp
    ticks: int
    ended: Stamp | None
    how: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the logbook, exactly as it is stored.

    Fields:
        seq: grows with every entry of the file
        session: the session it belongs to
        event: for a fact the seq of its event, None for an event
        kind: "event" or "fact"
        name: class of the event, or Record.fact
        about: Record.about; "" for an event
        data: JSON text, see codec.py
        stamp: when it was written
    """

    seq: int
    session: int
    event: int | None
    kind: str
    name: str
    about: str
    data: str
    stamp: Stamp


def event_of(entry: Entry) -> Event:
    """Make the event an entry holds; EntryError names the entry that cannot be read."""
    try:
        return codec.event_from(entry.name, entry.data)
    except EntryError as error:
        raise _at(entry, error) from None


def fact_of(entry: Entry) -> Record:
    """Make the fact an entry holds; EntryError names the entry that cannot be read."""
    try:
        return codec.record_from(entry.data)
    except EntryError as error:
        raise _at(entry, error) from None


def entry_from(row: tuple[Any, ...]) -> Entry:
    """Make an Entry from (seq ... data, now, wall, boot, boot_id)."""
    seq, session, event, kind, name, about, data = row[:7]
    return Entry(seq, session, event, kind, name, about, data, _stamp(row[7:], session))


def session_from(row: tuple[Any, ...]) -> SessionRow:
    """Make a SessionRow from (session ... fingerprint, began, last, ticks, ended, how, samples)."""
    number, aircraft, revision, file, fingerprint = row[:5]
    began = _stamp(row[5:9], number)
    last = began if row[10] is None else _stamp(row[9:13], number)
    ended = None if row[15] is None else _stamp(row[14:18], number)
    how = row[18] or ""
    sampled = last if row[19] is None else _stamp(row[19:23], number)
    last = max(last, sampled, key=lambda stamp: stamp.now)
    return SessionRow(
        number, aircraft, revision, file, fingerprint, began, last, row[13], ended, how
    )


def _stamp(values: tuple[Any, ...], session: int) -> Stamp:
    try:
        return Stamp(*values)
    except ValueError as error:
        raise DamagedError(f"Session {session} of the logbook is damaged: {error}") from None


def _at(entry: Entry, error: EntryError) -> EntryError:
    return EntryError(
        f"Entry {entry.seq} of session {entry.session} cannot be read: {error} "
        "Update callout if a newer one wrote it."
    )
