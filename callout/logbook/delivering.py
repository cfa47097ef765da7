"""What one machine wrote, delivered to the server that several share: each row once.

Rule of this file: what was delivered is written down on the server in the very transaction
that brings it, so that a connection that breaks at any moment loses nothing and doubles
nothing. The machine's own file is only read. Rows go in their order, an event with its
facts together; a session's end goes last.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from callout.logbook.errors import LogbookError, ServerLostError
from callout.logbook.reading import Readable
from callout.logbook.store import Logbook
from callout.logbook.tables import TABLES

AT_ONCE = 2000
"""Entries of one transaction; an event and its facts are far fewer."""

CLIPS_AT_ONCE = 20
"""Pieces of recordings of one transaction."""

_PARTS = ("entries", "samples", "clips", "acts")

Row = tuple[object, ...]


class Delivery:
    """From one machine's file to one server; keeps in mind which sessions are done."""

    def __init__(self, own: Readable, server: Logbook) -> None:
        self._own, self._server = own, server
        self.identity = identity(own)
        self._done = self._whole()

    def deliver(self, enough: Callable[[], bool] = lambda: False) -> int:
        """Bring what is new; gives how many rows.  Raises LogbookError.

        Also after any transaction after which it has been `enough`: what came is there.
        """
        brought = 0
        for number in self._own.numbers():
            if number not in self._done and number not in self._own.foreign():
                brought += self._session(number, enough)
        return brought

    def number_of(self, number: int) -> int | None:
        """The number on the server of a session of this machine."""
        query = "SELECT session FROM origins WHERE writer = ? AND number = ?"
        found = next(self._server.select(query, self.identity, number), None)
        return None if found is None else int(found[0])

    def own_number(self, here: int) -> int | None:
        """The number in this machine's file of a session on the server, if it wrote it."""
        query = "SELECT number FROM origins WHERE writer = ? AND session = ?"
        found = next(self._server.select(query, self.identity, here), None)
        return None if found is None else int(found[0])

    def latest(self) -> int:
        """The last entry that is there now, within a snapshot of the server."""
        return int(next(self._server.select("SELECT coalesce(max(seq), 0) FROM entries"))[0])

    def looked(self, number: int, upto: int) -> None:
        """Write down that this session was told all that was there up to an entry."""
        here = self.number_of(number)
        if here is not None:
            query = "SELECT 1 FROM delivered WHERE session = ? AND part = 'looked'"
            known = next(self._server.select(query, here), None) is not None
            with self._server.writing():
                self._upto(here, "looked", upto, known=known)

    def _whole(self) -> set[int]:
        query = (
            "SELECT o.number FROM origins o JOIN ends e ON e.session = o.session WHERE o.writer = ?"
        )
        return {number for (number,) in self._server.select(query, self.identity)}

    def _session(self, number: int, enough: Callable[[], bool]) -> int:
        """One session, as far as it has come."""
        brought = 0
        with self._own.snapshot():
            while some := self._some(number):
                brought += some
                if enough():
                    raise ServerLostError(f"The server of the logbook {self._server.path} is slow.")
        return brought

    def _some(self, number: int) -> int:
        """One transaction's worth; 0 when there is no more."""
        with self._server.writing():
            here, brought = self._begun(number)
            upto = dict(
                self._server.select("SELECT part, upto FROM delivered WHERE session = ?", here)
            )
            ended = self._rows("ends", number)
            for part in _PARTS:
                if part == "clips" and not ended:
                    continue  # a recording that is taken back never left this machine
                rows = self._next(part, number, upto.get(part, 0))
                if rows:
                    self._bring(part, number, here, rows)
                    self._upto(here, part, rows[-1][0], known=part in upto)
                    brought += len(rows)
                if len(rows) >= (CLIPS_AT_ONCE if part == "clips" else AT_ONCE // 2):
                    return brought  # samples come after all the entries, the end after all
            if ended and not self._there("ends", here):
                self._server.put_all("ends", [(here, *ended[0][1:])])
                brought += 1
            self._server.let_numbers_follow()
        if ended:
            self._done.add(number)
        return brought

    def _begun(self, number: int) -> tuple[int, int]:
        """(the session's number on the server, 1 if it was begun only now)."""
        (head,) = self._rows("sessions", number)
        here = self.number_of(number)
        if here is None:
            here = self._server.next_number("sessions")
            self._server.put_all("sessions", [(here, *head[1:])])
            self._server.put_all("origins", [(self.identity, number, here, 0)])
            return here, 1
        kept = next(iter(_select(self._server, "sessions", "session = ?", here)))
        if kept[5:] != head[5:]:
            raise LogbookError(
                f"Session {number} of {self._own.path} is another one than was delivered to "
                f"{self._server.path} before: was an older copy of the file put back? Nothing of "
                "it was delivered. Export it and import it there."
            )
        return here, 0

    def _next(self, part: str, number: int, upto: object) -> list[Row]:
        """The next rows; entries end before an event whose facts might not all be there."""
        if not self._own.has(part):
            return []
        table = TABLES[part]
        where = f"session = ? AND {table.key} > ?"
        limit = AT_ONCE if part != "clips" else CLIPS_AT_ONCE
        rows = list(_select(self._own, part, where, number, upto, limit=limit))
        if part == "entries" and len(rows) == AT_ONCE:
            last = max(n for n, row in enumerate(rows) if row[3] == "event")
            rows = rows[:last] or rows
        return rows

    def _bring(self, part: str, number: int, here: int, rows: Sequence[Row]) -> None:
        first = self._server.next_number(part)
        new = {row[0]: first + n for n, row in enumerate(rows)}
        if part == "entries":
            made = [
                (new[seq], here, None if event is None else new[event], *rest)
                for seq, _, event, *rest in rows
            ]
        elif part == "samples":
            made = [
                (new[batch], here, self._entry(number, here, after), *rest)
                for batch, _, after, *rest in rows
            ]
        else:
            made = [(new[key], here, *rest) for key, _, *rest in rows]
        self._server.put_all(part, made)

    def _entry(self, number: int, here: int, after: object) -> int:
        """The entry on the server that is as many entries into the session as this one."""
        query = "SELECT count(*) FROM entries WHERE session = ? AND seq <= ?"
        (before,) = next(self._own.select(query, number, after))
        if not before:
            return 0
        query = "SELECT seq FROM entries WHERE session = ? ORDER BY seq LIMIT 1 OFFSET ?"
        return int(next(self._server.select(query, here, before - 1))[0])

    def _upto(self, here: int, part: str, key: object, *, known: bool) -> None:
        query = "INSERT INTO delivered (upto, session, part) VALUES (?, ?, ?) RETURNING upto"
        if known:
            query = "UPDATE delivered SET upto = ? WHERE session = ? AND part = ? RETURNING upto"
        self._server.erase(query, key, here, part)

    def _rows(self, table: str, number: int) -> list[Row]:
        return list(_select(self._own, table, "session = ?", number))

    def _there(self, table: str, here: int) -> bool:
        return next(iter(_select(self._server, table, "session = ?", here)), None) is not None


def identity(own: Readable) -> str:
    """What a machine's file is called on the server."""
    return str(next(own.select("SELECT id FROM identity"))[0])


def _select(
    logbook: Readable, name: str, where: str, *values: object, limit: int = -1
) -> Iterable[Row]:
    table = TABLES[name]
    query = (
        f"SELECT {', '.join(table.all)} FROM {name} WHERE {where} "  # noqa: S608 - our own words
        f"ORDER BY {table.key}"
    )
    if limit >= 0:
        query += f" LIMIT {limit}"
    return logbook.select(query, *values)
