"""The option --logbook: a file, or the URL of a server that several share.

Rule of this file: it turns words into a place; nothing is opened.
"""

from __future__ import annotations

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


LOGBOOK = LogbookPlace()
