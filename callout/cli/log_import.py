"""`callout log import`: an export becomes a logbook again, or part of one.

Rule of this file: it reads options and prints; what is taken in, and what is refused,
stands in callout/logbook/importing.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import chain
from pathlib import Path

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK
from callout.logbook.places import Place, default_logbook

_TOLD = 20
"""Sessions whose new number is told each."""


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--logbook", "place", type=LOGBOOK,
              help="The logbook, file or URL; your own if none.")  # fmt: skip
def command(file: Path, place: Place | None) -> None:
    """Take FILE, as `callout log export` made it, into a logbook.

    All of it or nothing. Sessions that are there already are not written twice; those
    that are new get the next numbers, or keep theirs in a logbook that is empty.
    """
    from callout.logbook.import_read import read
    from callout.logbook.importing import take_in
    from callout.logbook.store import Logbook

    with say_errors():
        lines = read(file)
        first = next(lines, None)  # before a logbook is made for what is no export
        if first is None:
            click.echo(f"There is no session in {file}.")
            return
        with Logbook.open(place or default_logbook()) as logbook:
            done = take_in(logbook, file, chain([first], lines))
        _tell("new", done.new)
        _tell("continued", done.continued)
        _tell("there already", done.known)
        changed = {old: new for old, new in done.new.items() if old != new}
        for old, new in list(changed.items())[:_TOLD]:
            click.echo(f"Session {old} of the file is session {new} here.")
        if len(changed) > _TOLD:
            click.echo(f"{len(changed) - _TOLD} more have other numbers here, too.")


def _tell(what: str, sessions: Mapping[int, int]) -> None:
    if sessions:
        many = "1 session is" if len(sessions) == 1 else f"{len(sessions)} sessions are"
        click.echo(f"{many} {what}.")
