"""Which logbook, and which of its sessions: --logbook FILE or URL, and SESSION.

Rule of this file: it turns words into a place or a number; nothing is opened.
"""

from __future__ import annotations

import re

import click

from callout.logbook.errors import LogbookError
from callout.logbook.places import Place, place


class LogbookPlace(click.ParamType[Place]):
    """FILE.db, or postgresql://USER@HOST/DATABASE."""

    name = "FILE or URL"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> Place:
        """Read the words; a URL of something else is refused with a sentence."""
        try:
            return place(str(value))
        except LogbookError as error:
            self.fail(str(error), param, ctx)


class SessionNumber(click.ParamType[int]):
    """The number of a session, from 1 on."""

    name = "session"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> int:
        """Read the words; what can be no session's number is refused with a sentence."""
        words = str(value)
        if not re.fullmatch("[0-9]{1,19}", words) or not 0 < int(words) <= LARGEST:
            self.fail(f"{words!r} is no session's number; `callout log` lists them.", param, ctx)
        return int(words)


LARGEST = 2**63 - 1
"""Largest number SQLite gives a row (sqlite.org/autoinc.html)."""

LOGBOOK = LogbookPlace()
SESSION = SessionNumber()
