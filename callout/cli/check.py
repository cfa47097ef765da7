"""`callout check AIRCRAFT.yaml`: whether the file is right, and how it will be spoken.

Rule of this file: it prints. Lists go to standard output, problems to standard
error, one a line as file:line:column, with exit status 2.
"""

from __future__ import annotations

from pathlib import Path

import click

from callout.checklist.load import load_all
from callout.checklist.problems import FileProblems
from callout.cli.printed import lines


@click.command()
@click.argument("aircraft", type=click.Path(path_type=Path))
def command(aircraft: Path) -> None:
    """Check an aircraft file and print its lists as they will be spoken."""
    from callout.running.alike import alike

    try:
        loaded = load_all(aircraft)
    except FileProblems as error:
        for problem in error.problems:
            click.echo(str(problem), err=True)
        count = len(error.problems)
        click.echo(f"{count} {'problem' if count == 1 else 'problems'} in {aircraft}", err=True)
        raise SystemExit(2) from None
    for line in lines(loaded.aircraft):
        click.echo(line)
    for pair in alike(loaded.aircraft):
        click.echo(f"Caution: {pair.sentence()}")
    click.echo(f"Fingerprint: {loaded.fingerprint}")
