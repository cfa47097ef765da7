"""`callout log backup`: a copy that was checked.

Rule of this file: it reads options and prints; copying stands in callout/logbook/backup.py.
"""

from __future__ import annotations

from pathlib import Path

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK
from callout.logbook.places import Place, default_logbook


@click.command("backup")
@click.argument("to", metavar="NEW.db", type=click.Path(path_type=Path))
@click.option("--logbook", "place", type=LOGBOOK,
              help="The logbook, file or URL; your own if none.")  # fmt: skip
def command(to: Path, place: Place | None) -> None:
    """Copy the logbook to NEW.db as it is now, also while a session is written to it.

    The copy is a logbook of its own, in one file, and is read back whole before it gets
    its name.
    """
    from callout.logbook.backup import backup

    with say_errors():
        sessions = backup(place or default_logbook(), to)
        many = "1 session" if sessions == 1 else f"{sessions} sessions"
        size = to.stat().st_size / 1e6
        click.echo(f"{to}: {many}, {size:.1f} MB, checked.")
