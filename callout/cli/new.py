"""`callout new FILE.yaml`: a few questions, and a commented file to begin with.

Rule of this file: it asks at the keyboard and writes; the questions and the file
are made in writing/interview.py.
"""

from __future__ import annotations

from pathlib import Path

import click

from callout.cli.errors import say_errors
from callout.cli.files import YAML, write


@click.command("new")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--spoken", is_flag=True, help="Ask aloud and listen for the answers.")
@click.option("--engine", type=click.Choice(["turbine", "piston"]), help="Do not ask for it.")
@click.option(
    "--turns",
    type=click.Choice(["rotor", "propeller", "stand"]),
    help="What the engine turns; do not ask for it.",
)
@click.option("--people", type=click.Choice(["alone", "two"]), help="Do not ask for it.")
@click.option("--power", type=click.Choice(["own", "ground"]), help="Do not ask for it.")
@click.option("--ear", default="built-in", show_default=True, help="With --spoken: as for run.")
@click.option("--listen", default="microphone", show_default=True, help="With --spoken.")
@click.option("--speak", default="loudspeaker", show_default=True, help="With --spoken.")
@click.option("--name", help="The machine's name as it is to be spoken; do not ask for it.")
@click.option("--author", help="Who writes the lists and answers for them.")
@click.option("--handbook", help="The handbook that limits will be copied from.")
@click.option("--issue", help="Its issue.")
def command(
    file: Path,
    spoken: bool,
    engine: str | None,
    turns: str | None,
    people: str | None,
    power: str | None,
    ear: str,
    listen: str,
    speak: str,
    name: str | None,
    author: str | None,
    handbook: str | None,
    issue: str | None,
) -> None:
    """Ask a few questions about a machine and write FILE, a commented set of lists.

    It is a beginning: every line has to be held against the handbook of the
    machine, and every number comes from there. None is invented.
    """
    from callout.writing.interview import Owner, file_text

    if file.exists():
        raise click.UsageError(f"{file} is there already; give another name.")
    given = {"engine": engine, "turns": turns, "people": people, "power": power}
    ways = {key: way for key, way in given.items() if way}
    ways = {**_aloud(ear, listen, speak), **ways} if spoken else _typed(ways)
    asked = Owner()
    owner = Owner(
        name or (asked.name if spoken else click.prompt("Name of the machine", asked.name)),
        author or (asked.author if spoken else click.prompt("Who writes the lists", asked.author)),
        handbook or (asked.handbook if spoken else click.prompt("Its handbook", asked.handbook)),
        issue or (asked.issue if spoken else click.prompt("Issue of the handbook", asked.issue)),
    )
    write(file, file_text(ways, owner, str(file)), YAML)
    click.echo(f"Written: {file}. Hold every line against your handbook, then:")
    for step in ("check", "review", "preview", "run"):
        click.echo(f"  callout {step} {file}")


def _typed(known: dict[str, str]) -> dict[str, str]:
    from callout.writing.interview import QUESTIONS

    ways = dict(known)
    for one in QUESTIONS:
        if one.key in ways:
            continue
        shown = {str(at): way for at, way in enumerate(one.ways, start=1)}
        click.echo(f"{one.call.capitalize()}:")
        for at, way in shown.items():
            click.echo(f"  {at}  {way.words}")
        picked = click.prompt("Number", type=click.Choice(list(shown)), show_choices=False)
        ways[one.key] = shown[picked].key
    return ways


def _aloud(ear: str, listen: str, speak: str) -> dict[str, str]:
    from callout.running.interviewing import asked_aloud
    from callout.running.screen import Transcript
    from callout.running.settings import LOUDSPEAKER, MICROPHONE, RunSettings, sound_end

    with say_errors():
        settings = RunSettings(
            aircraft=Path(),
            logbook=Path(),
            ear=ear,
            listen=sound_end(listen, MICROPHONE),
            speak=sound_end(speak, LOUDSPEAKER),
        )
        return asked_aloud(settings, Transcript())
