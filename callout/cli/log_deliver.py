"""`callout log deliver`: what could not be brought to a server in a session, afterwards.

Rule of this file: it reads options and prints.
"""

from __future__ import annotations

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK
from callout.logbook.places import Place, Server


@click.command("deliver")
@click.option("--logbook", "place", type=LOGBOOK, required=True, help="The server's URL.")
def command(place: Place) -> None:
    """Bring everything that this machine wrote for the server, and that is not there yet."""
    from callout.running.sharing import deliver, own_file

    if not isinstance(place, Server):
        raise click.UsageError("--logbook must be the URL of a server: postgresql://…")
    own = own_file(place)
    if not own.is_file():
        click.echo("This machine has written nothing for this server.")
        return
    with say_errors():
        rows = deliver(own, place)
    click.echo(f"Delivered: {rows} rows." if rows else "Everything was there already.")
