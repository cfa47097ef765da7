"""What a logbook gives back: sessions and entries, as values.

Rule of this file: values only; the database stays in store.py.
"""

from __future__ import annotations

from dataclasses import dataclass

from callout.logbook.stamp import Stamp


@dataclass(frozen=True, slots=True)
class SessionRow:
    """One session.

    Fields:
        session: its number
        aircraft, revision, file, fingerprint: as given to `begin`
        began: when it began
        last: when the last entry was written (`began` if there is none)
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
