"""The command `callout`: one group, each command in its own file.

Rule of this file: it only gathers. A command is imported when it is asked for,
so that `callout check` never waits for sound or models to load.
"""

from __future__ import annotations

import importlib

import click

from callout import __version__

COMMANDS: dict[str, str] = {
    "bench": "Measure what ears understand, on recordings on this disk.",
    "check": "Check an aircraft file and print its lists as they will be spoken.",
    "coverage": "Tell what of a file was never used in the sessions of a logbook.",
    "diff": "Tell what changed between two aircraft files.",
    "doctor": "Say which devices, models and voices are here, and how to get what is missing.",
    "due": "Say what has to be done and how it stands, or write down that it was done.",
    "enrol": "Learn how one pilot speaks in his own headset.",
    "feed": "Record, replay, show or simulate a feed of gauge readings.",
    "hear": "Show what is understood, live or from a recording.",
    "import": "Make an aircraft file of an owner's document, every guess marked.",
    "log": "List and export what was recorded.",
    "model": "Fetch or add a speech model.",
    "new": "Ask a few questions and write a commented file to begin with.",
    "plot": "Draw speed, temperature and events of a session or a simulated start.",
    "print": "Print an aircraft's lists on paper, A5, folded A4 or knee size.",
    "preview": "Read lists aloud as they will be, with the time they take; or as a table.",
    "report": "Report on a session, as a page for the screen and as PDF.",
    "review": "Read a file as a list for people: what they would get wrong by it.",
    "run": "Read an aircraft's checklists aloud and listen for the answers.",
    "schema": "Print the JSON Schema of aircraft files, for editors.",
    "squawk": "List, play, close and ground by squawks: what was found wrong.",
    "train": "Practise drills by voice, with a simulated engine; no aircraft is needed.",
    "trends": "Compare the starts, run-downs and answers of many sessions.",
}
"""Command name -> one-line help; the module callout.cli.NAME has a click command `command`."""


class _Lazy(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        file = "import_" if name == "import" else name  # a word of Python's own
        module = importlib.import_module(f"callout.cli.{file}")
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(sorted(COMMANDS.items()))


@click.command(cls=_Lazy)
@click.version_option(__version__, prog_name="callout")
def main() -> None:
    """An offline spoken-checklist assistant for the hangar.

    It reads lists and remembers answers. It never says that it is safe to
    start, take off or fly: the aircraft's own handbook and its pilot decide.
    """
