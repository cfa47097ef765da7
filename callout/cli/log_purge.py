"""`callout log purge`: recordings of talk are removed for good, the record stays.

Rule of this file: it reads options, asks, and prints; what is removed, and how,
stands in callout/logbook/purging.py.
"""

from __future__ import annotations

from datetime import datetime

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK
from callout.logbook.places import Place, default_logbook

_LARGEST = 2**63 - 1
"""Largest number SQLite gives a row (sqlite.org/autoinc.html)."""

STAYS = (
    "What was decided, answered and written stays. Backups, exports and reports that were "
    "made before still hold what was removed."
)


@click.command("purge")
@click.option("--all", "every", is_flag=True, help="Every recording.")
@click.option("--session", "sessions", type=click.IntRange(1, _LARGEST), multiple=True,
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
    room again for a while, and a minute for a large one.
    """
    from callout.logbook.purging import purge, recordings
    from callout.logbook.store import Logbook
    from callout.running.clock import RealClock

    if every == bool(sessions or before):
        raise click.UsageError("Say which: --all, or --session N, or --before YYYY-MM-DD.")
    with say_errors(), Logbook.open(place or default_logbook()) as logbook:
        for session in sessions:
            logbook.session(session)
        day = before.strftime("%Y-%m-%d") if before else ""
        found = recordings(logbook, sessions, day)
        if not found:
            click.echo("There is no such recording; nothing was removed.")
            return
        squawks = sum(not one.of_session for one in found)
        told = (
            f"{_count(squawks, 'squawk')} and {_count(len(found) - squawks, 'whole session')}, "
            f"{sum(one.seconds for one in found):.1f} s, "
            f"{sum(one.size for one in found) / 1e6:.2f} MB"
        )
        if not yes:
            click.confirm(f"Remove the recordings of {told}, for good?", abort=True)
        purge(logbook, found, who, RealClock().stamp(0.0))
    click.echo(f"Removed the recordings of {told}. {STAYS}")


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
