"""What another logbook's numbers mean here: a squawk is spoken of by its session's number.

Rule of this file: it only reads. A number that means nothing here stays a name that no
session has: what was said of it is then about nothing, never about something else.
"""

from __future__ import annotations

from callout.logbook.places import Server
from callout.logbook.reading import Readable

IMPORT = "import "
"""How the writer of an import begins; any other is the identity of a logbook."""

SHARED = "@"
"""Begins the name of a squawk by the numbers of the server that a session is delivered to."""


class Origins:
    """The sessions of a logbook that came from elsewhere."""

    def __init__(self, logbook: Readable) -> None:
        self._on_server = isinstance(logbook.path, Server)
        self._here: dict[tuple[str, int], int] = {}
        self._writer: dict[int, str] = {}
        if not logbook.has("origins"):
            return
        query = "SELECT writer, number, session, known FROM origins"
        for writer, number, session, known in logbook.select(query):
            self._here[writer, number] = session
            if not known:
                self._writer[session] = writer

    def here(self, session: int, key: str) -> str:
        """A squawk's name as it is here, from the name that stands in a session."""
        writer = self._writer.get(session)
        imported = writer is not None and writer.startswith(IMPORT)
        shared, name = key.startswith(SHARED), key.removeprefix(SHARED)
        if writer is None or (shared and not imported):
            return name if self._on_server or not shared else key
        number, _, squawk = name.partition(".")
        found = self._here.get((writer, int(number))) if number.isdecimal() else None
        return f"{SHARED}{SHARED}{key}" if found is None else f"{found}.{squawk}"

    def theirs(self, writer: str, key: str) -> str:
        """The name by which a logbook that delivers here speaks of a squawk of this one."""
        number, _, squawk = key.partition(".")
        for (by, its), session in self._here.items():
            if by == writer and session == int(number):
                return f"{its}.{squawk}"
        return SHARED + key
