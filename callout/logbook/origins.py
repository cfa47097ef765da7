"""What another logbook's numbers mean here: a squawk is spoken of by its session's number.

Rule of this file: it only reads. A number that means nothing here stays a name that no
session has: what was said of it is then about nothing, never about something else.
"""

from __future__ import annotations

from typing import Any

from callout.logbook.places import Server
from callout.logbook.reading import Readable

IMPORT = "import "
"""How the writer of an import begins; any other is the identity of a logbook."""

SHARED = "@"
"""Begins the name of a squawk by the numbers of the server that a session is delivered to."""


class Origins:
    """The sessions of a logbook that came from elsewhere."""

    def __init__(self, logbook: Readable) -> None:
        self._logbook = logbook
        self._on_server = isinstance(logbook.path, Server)
        self._known = logbook.has("origins")
        self._writers: dict[int, str | None] = {}

    def here(self, session: int, key: str) -> str:
        """A squawk's name as it is here, from the name that stands in a session."""
        writer = self._writer(session)
        imported = writer is not None and writer.startswith(IMPORT)
        shared, name = key.startswith(SHARED), key.removeprefix(SHARED)
        if writer is None or (shared and not imported):
            return name if self._on_server or not shared else key
        number, _, squawk = name.partition(".")
        query = "SELECT session FROM origins WHERE writer = ? AND number = ?"
        found = self._one(query, writer, int(number)) if number.isdecimal() else None
        return f"{SHARED}{SHARED}{key}" if found is None else f"{found}.{squawk}"

    def theirs(self, writer: str, key: str) -> str:
        """The name by which a logbook that delivers here speaks of a squawk of this one."""
        number, _, squawk = key.partition(".")
        query = "SELECT number FROM origins WHERE writer = ? AND session = ?"
        found = self._one(query, writer, int(number))
        return SHARED + key if found is None else f"{found}.{squawk}"

    def _writer(self, session: int) -> str | None:
        if session not in self._writers:
            query = "SELECT writer FROM origins WHERE session = ? AND known = 0"
            self._writers[session] = self._one(query, session)
        return self._writers[session]

    def _one(self, query: str, *values: object) -> Any:  # noqa: ANN401 - a column's own type
        row = next(self._logbook.select(query, *values), None) if self._known else None
        return None if row is None else row[0]
