"""The facts that count across sessions, read raw: a logbook of many years has tens of thousands.

Rule of this file: it only reads. What is folded (history.py) gets name, subject, pairs and
time of each fact; the codec's careful reading of every field took most of the time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from callout.engine.effects import Record
from callout.logbook.codec import pairs_of
from callout.logbook.migrations import COUNTED
from callout.logbook.reading import Readable, storable
from callout.logbook.stamp import RECORDING

_COLUMNS = "seq, session, name, about, data, wall, boot, boot_id"


@dataclass(frozen=True, slots=True)
class Counted:
    """One fact: which entry, of which session, its words, and when by wall and boot clock."""

    seq: int
    session: int
    name: str
    about: str
    data: dict[str, str]
    wall: str
    boot: float
    boot_id: str

    @property
    def record(self) -> Record:
        """As the engine takes it."""
        return Record(self.name, self.about, tuple(self.data.items()))


def counted(logbook: Readable, aircraft: str, after: int = 0) -> Iterator[Counted]:
    """Facts behind entry `after` that count, of an aircraft's sessions in real time, in order.

    The order is that of their numbers; where sessions came from another logbook, that of
    the times at which sessions began.
    """
    by = "INDEXED BY counted_whole" if logbook.has("counted_whole") else ""
    query = (
        f"SELECT {_COLUMNS} FROM entries {by} WHERE {COUNTED} AND +session IN "  # noqa: S608
        "(SELECT session FROM sessions WHERE aircraft = ? AND boot_id <> ?) AND seq > ? "
        "ORDER BY seq"
    )
    rows = map(_read, logbook.select(query, storable(aircraft), RECORDING, after))
    if not _any_foreign(logbook):
        yield from rows
        return
    by_session: dict[int, list[Counted]] = {}
    for one in rows:
        by_session.setdefault(one.session, []).append(one)
    if by_session:
        for session in _by_time(logbook, aircraft, min(by_session), max(by_session)):
            yield from by_session.get(session, ())


def _read(row: tuple[int, int, str, str, str, str, float, str]) -> Counted:
    seq, session, name, about, data, wall, boot, boot_id = row
    pairs = pairs_of(session, name, data)
    return Counted(seq, session, name, about, pairs, wall, boot, boot_id)


def _any_foreign(logbook: Readable) -> bool:
    query = "SELECT 1 FROM origins WHERE known = 0 LIMIT 1"
    return logbook.has("origins") and next(logbook.select(query), None) is not None


def _by_time(logbook: Readable, aircraft: str, first: int, last: int) -> list[int]:
    """An aircraft's sessions by when they began; those written here keep their order."""
    query = (
        "SELECT session, wall FROM sessions WHERE aircraft = ? AND session >= ? "
        "AND session <= ? ORDER BY session"
    )
    foreign = logbook.foreign(first)
    latest, order = datetime.min.replace(tzinfo=UTC), []
    for session, wall in logbook.select(query, storable(aircraft), first, last):
        began = datetime.fromisoformat(wall)
        if session not in foreign:
            latest = began = max(latest, began)
        order.append((began, session))
    return [session for _, session in sorted(order)]
