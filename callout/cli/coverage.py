"""`callout coverage AIRCRAFT.yaml`: what of a file was never used.

Rule of this file: it prints; what was used is found in writing/coverage.py.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK
from callout.logbook.places import Place, default_logbook

if TYPE_CHECKING:
    from callout.checklist.model import Aircraft
    from callout.engine.effects import Record


@click.command()
@click.argument("aircraft", type=click.Path(path_type=Path))
@click.option("--logbook", type=LOGBOOK, help="The logbook, file or URL; your own if none.")
@click.option("--simulated", is_flag=True, help="Days on paper instead of the logbook.")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
def command(aircraft: Path, logbook: Place | None, simulated: bool, as_json: bool) -> None:
    """Tell what of AIRCRAFT was never used in the sessions of a logbook.

    Items never reached, branches never taken, limits never tested, answers never
    given. With --simulated the lists are run on paper, every answer right and every
    way of a choice taken: what is then left over nobody can reach when all goes well.
    """
    from callout.checklist.load import load
    from callout.writing.coverage import coverage

    with say_errors():
        loaded = load(aircraft)
        sessions, facts = _flown(loaded) if simulated else _logged(loaded, logbook)
    found = coverage(loaded, facts)
    if as_json:
        rows = [{"kind": u.kind, "where": u.where, "what": u.what} for u in found.unused]
        counts = {kind: [used, of] for kind, used, of in found.counts}
        click.echo(json.dumps({"sessions": sessions, "counts": counts, "unused": rows}, indent=2))
        return
    click.echo(f"{'Days on paper' if simulated else 'Sessions'}: {sessions}")
    for kind, used, of in found.counts:
        click.echo(f"{kind}: {used} of {of}")
        for one in found.unused:
            if one.kind == kind:
                click.echo(f"  never: {one.where}: {one.what}")


def _logged(loaded: Aircraft, logbook: Place | None) -> tuple[int, list[Record]]:
    from callout.logbook.store import Logbook

    with Logbook.read(logbook or default_logbook()) as book, book.snapshot():
        rows = [row for row in book.sessions() if row.aircraft == loaded.name]
        return len(rows), [fact for row in rows for _, fact in book.facts(row.session)]


def _flown(loaded: Aircraft) -> tuple[int, list[Record]]:
    from callout.running.problems import CannotRunError
    from callout.writing.flying import StuckError, days

    try:
        flown = days(loaded)
    except StuckError as error:
        raise CannotRunError(str(error)) from None
    return len(flown), [fact for day in flown for fact in day]
