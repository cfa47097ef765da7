"""`callout trends`: what many sessions say together.

Rule of this file: it only reads the logbook and prints; what is compared, and how,
stands in callout/reports.
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK
from callout.logbook.places import Place, default_logbook

if TYPE_CHECKING:
    from callout.checklist.model import Aircraft
    from callout.logbook.store import Logbook
    from callout.reports.trends import Series, Trends


@click.command("trends")
@click.argument("aircraft", required=False)
@click.option("--logbook", type=LOGBOOK, help="The logbook, file or URL; your own if none.")
def command(aircraft: str | None, logbook: Place | None) -> None:
    """Compare the starts, run-downs and answers of all sessions of AIRCRAFT.

    AIRCRAFT is its name as in `callout log`, or its file; the one flown last if
    none is given. A change is told first in the session that showed it.
    """
    from callout.logbook.store import Logbook
    from callout.reports.trends import trends

    with say_errors():
        with Logbook.read(logbook or default_logbook()) as opened, opened.snapshot():
            name, made = _which(opened, aircraft)
            found = trends(opened, name, made)
        _print(found)


def _which(logbook: Logbook, asked: str | None) -> tuple[str, Aircraft | None]:
    """The aircraft's name, and its file if that can be read."""
    from callout.checklist.load import load
    from callout.checklist.problems import FileProblems
    from callout.logbook.trending import aircraft_names

    flown = aircraft_names(logbook)
    if not flown:
        raise click.UsageError(f"No session was flown yet in {logbook.path}.")
    if asked is not None and Path(asked).suffix.lower() in (".yaml", ".yml"):
        given = load(Path(asked))
        asked = given.name
    else:
        given = None
    files = {name: file for name, file, _ in flown}
    name = flown[0][0] if asked is None else asked
    if name not in files:
        others = ", ".join(files)
        raise click.UsageError(f"No session of {name!r} is in {logbook.path}; there are: {others}.")
    if given is not None:
        return name, given
    try:
        return name, load(Path(files[name]))
    except FileProblems:
        return name, None


def _print(found: Trends) -> None:
    from callout.reports.session import CAUTIONS
    from callout.reports.trends import changed

    click.echo(found.aircraft)
    new, known = changed(found)
    for text in new:
        click.echo(f"NEW: {text}.")
    for text in known:
        click.echo(f"Still: {text}.")
    click.echo("")
    _table(found.series)
    for line in _lines(found):
        click.echo(line)
    for one in (*found.notes, *CAUTIONS):
        click.echo(f"Note: {one}")


def _table(series: Sequence[Series]) -> None:
    """A line for each figure."""
    from callout.reports.change import OUTLIER

    if not series:
        click.echo("Nothing to compare yet: no start and no run-down was watched.")
        return
    wide = max(len(one.name) for one in series)
    click.echo(f"{'':{wide}}  {'of':>6}  {'usual':>10}  {'scatter':>8}  {'latest':>10}")
    for one in series:
        usual = statistics.median(one.values)
        scatter = statistics.median(abs(value - usual) for value in one.values)
        unit = one.symbol.replace("degC", "\u00b0C")
        far = one.unusual()
        mark = "  unusual" if far is not None and abs(far) > OUTLIER else ""
        click.echo(
            f"{one.name:{wide}}  {len(one.values):6}  {usual:7.1f} {unit:2}  {scatter:8.2f}"
            f"  {one.values[-1]:7.1f} {unit:2}{mark}"
        )


def _lines(found: Trends) -> list[str]:
    """What is counted."""
    from callout.reports.names import plain

    ways = ", ".join(f"{often} {plain(how)}" for how, often in found.outcomes.most_common())
    lines = ["", f"Starts watched: {sum(found.outcomes.values())}" + (f" ({ways})" if ways else "")]
    if found.refused:
        limits = ", ".join(f"{plain(one)}, {often}" for one, often in found.refused.items())
        lines.append(f"Kept from opening a list by a counter: {limits}")
    kept, begun = found.cooled
    lines.append(f"Cool-down kept: {kept} of {begun} sessions")
    for title, items in (
        ("Answered too quickly to have looked", found.too_quick),
        ("Most often missed", found.missed),
        ("Most often misheard", found.misheard),
    ):
        lines.append(
            f"{title}: " + ("; ".join(f"{item}, {often}" for item, often in items) or "none")
        )
    return lines
