"""`callout check FILE.yaml`: whether a file is right, and how it will be spoken.

Rule of this file: it prints. Lists go to standard output, problems to standard
error, one a line as file:line:column, with exit status 2.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.checklist.load import load_all
from callout.checklist.problems import FileProblems
from callout.cli.printed import lines

if TYPE_CHECKING:
    from callout.trainer.load import LoadedDrill


@click.command()
@click.argument("aircraft", type=click.Path(path_type=Path))
def command(aircraft: Path) -> None:
    """Check an aircraft file and print its lists as they will be spoken, or a drill file.

    The drills of an aircraft file (drills/NAME beside it) are checked with it.
    """
    from callout.running.alike import alike
    from callout.trainer.load import drills_of, is_drill, load_drill

    try:
        if is_drill(aircraft):
            _say_drill(load_drill(aircraft))
            return
        loaded = load_all(aircraft)
        drills = drills_of(loaded)
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
    for one in drills:
        click.echo(f"Drill {one.drill.id}: {one.drill.title}")
    click.echo(f"Fingerprint: {loaded.fingerprint}")


def _say_drill(one: LoadedDrill) -> None:
    from callout.cli.printed_drill import lines as drill_lines
    from callout.running.train_alike import alike

    for line in drill_lines(one.drill, one.aircraft.aircraft):
        click.echo(line)
    for sentence in alike(one.drill, one.aircraft.aircraft):
        click.echo(f"Caution: {sentence}")
