"""`callout model`: fetch a speech model from its publisher, add one from disk, list them.

Rule of this file: it shows progress and prints; models, checks and transfers
are in callout/ear.
"""

from __future__ import annotations

from pathlib import Path

import click

from callout.cli.errors import say_errors
from callout.ear.models import PUBLISHED, fault, installed, models_folder

FOLDER = click.option(
    "--folder",
    type=click.Path(path_type=Path),
    envvar="CALLOUT_MODELS",
    help="The folder of models, instead of the usual one (also: CALLOUT_MODELS).",
)


@click.group("model")
def command() -> None:
    """Fetch or add a speech model."""


@command.command("fetch")
@click.argument("name", type=click.Choice(sorted(PUBLISHED)))
@click.option("--from", "url", default="", help="Another web address of the same archive.")
@FOLDER
def fetch_command(name: str, url: str, folder: Path | None) -> None:
    """Fetch the model NAME from its publisher.

    A transfer that broke off goes on where it stopped. What does not have the
    right SHA-256 is thrown away.
    """
    from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn, TimeRemainingColumn

    from callout.ear.fetch import fetch

    model = PUBLISHED[name]
    columns = (TextColumn("{task.description}"), BarColumn(), DownloadColumn())
    with say_errors(), Progress(*columns, TimeRemainingColumn(), transient=True) as bar:
        task = bar.add_task(name, total=None)
        made = fetch(
            model,
            models_folder(folder),
            url=url,
            progress=lambda here, total: bar.update(task, completed=here, total=total),
        )
    click.echo(f"{name} ({model.about}) is in {made}")


@command.command("add")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--name", default="", help="What to call it; the name of PATH if not given.")
@FOLDER
def add_command(path: Path, name: str, folder: Path | None) -> None:
    """Add the Vosk model at PATH, a folder or a zip archive."""
    from callout.ear.unpack import add

    with say_errors():
        made = add(path, models_folder(folder), name)
    click.echo(f"{made.name} is in {made}")


@command.command("list")
@FOLDER
def list_command(folder: Path | None) -> None:
    """List the models that are here and those that can be fetched."""
    place = models_folder(folder)
    here = installed(place)
    click.echo(f"Models in {place}:" if here else f"There is no model in {place}.")
    for model in here:
        click.echo(f"  {model.name}: {fault(model) or 'ready for --ear vosk'}")
    names = {model.name for model in here}
    for published in PUBLISHED.values():
        if published.name not in names:
            click.echo(f"Can be fetched: {published.name} ({published.about})")
