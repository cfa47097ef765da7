"""`callout log purge`: recordings of talk are removed for good, the record stays.

Rule of this file: it reads options, asks, and prints; what is removed, and how,
stands in callout/logbook/purging.py.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from datetime import datetime

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK, SESSION
from callout.logbook.delivering import Delivery
from callout.logbook.places import Place, Server, default_logbook
from callout.logbook.purging import Recording, purge, recordings
from callout.logbook.store import Logbook
from callout.running.clock import RealClock
from callout.running.sharing import is_own_file, own_file

STAYS = (
    "What was decided, answered and written stays. Backups, exports and reports that were "
    "made before still hold what was removed."
)

OTHERS = (
    "Other machines that wrote to this server keep their own copies: purge on each of them, too."
)

THERE = (
    "This file is delivered to a server, which keeps its own copy: purge there with "
    "--logbook postgresql://…, too; that reaches both."
)


@click.command("purge")
@click.option("--all", "every", is_flag=True, help="Every recording.")
@click.option("--session", "sessions", type=SESSION, multiple=True,
              help="Those of this session; may be given again.")  # fmt: skip
@click.option("--before", type=click.DateTime(["%Y-%m-%d"]),
              help="Those of sessions that began before this day (UTC).")  # fmt: skip
@click.option("--who", default="", help="Who removes them, for the record.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.option("--logbook", "place", type=LOGBOOK, help="The logbook; your own if none.")
def command(
    every: bool, sessions: tuple[int, ...], before: datetime | None, who: str, yes: bool,
    place: Place | None,
) -> None:  # fmt: skip
    """Remove recordings of talk, of squawks and of whole sessions, for good.

    The file is written anew, so that their bytes are gone from it; that takes as much
    room again for a while, and a minute for a large one. With a server they are removed
    there and from the file that this machine keeps for it.
    """
    if every == bool(sessions or before):
        raise click.UsageError("Say which: --all, or --session N, or --before YYYY-MM-DD.")
    where = place or default_logbook()
    day = before.strftime("%Y-%m-%d") if before else ""
    with say_errors(), ExitStack() as opened:
        parts = list(_parts(where, sessions, day, opened))
        found = [one for _, some in parts for one in some]
        if not found:
            click.echo("There is no such recording; nothing was removed.")
            return
        told = " and ".join(_told(some, book.path, where) for book, some in parts if some)
        if not yes:
            click.confirm(f"Remove the recordings of {told}, for good?", abort=True)
        for logbook, some in parts:
            if some:
                purge(logbook, some, who, RealClock().stamp(0.0))
    more = OTHERS if isinstance(where, Server) else THERE if is_own_file(where) else ""
    click.echo(" ".join(filter(None, (f"Removed the recordings of {told}. {STAYS}", more))))


def _parts(
    place: Place, sessions: tuple[int, ...], day: str, opened: ExitStack
) -> Iterator[tuple[Logbook, list[Recording]]]:
    """Each logbook that has something of it: this machine's file before its server's.

    What is gone here first cannot be delivered after it was removed there.
    """
    logbook = opened.enter_context(Logbook.open(place, new=False))
    for session in sessions:
        logbook.session(session)
    if isinstance(place, Server) and own_file(place).exists():
        own = opened.enter_context(Logbook.open(own_file(place)))
        numbers = [n for n in map(Delivery(own, logbook).own_number, sessions) if n is not None]
        if numbers or not sessions:
            yield own, recordings(own, numbers, day)
    yield logbook, recordings(logbook, sessions, day)


def _told(found: list[Recording], place: Place, asked: Place) -> str:
    squawks = sum(not one.of_session for one in found)
    where = "" if place == asked else " in the file of this machine"
    if isinstance(place, Server):
        where = " on the server"
    return (
        f"{_count(squawks, 'squawk')} and {_count(len(found) - squawks, 'whole session')}, "
        f"{sum(one.seconds for one in found):.1f} s, "
        f"{sum(one.size for one in found) / 1e6:.2f} MB{where}"
    )


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
