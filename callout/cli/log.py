"""`callout log`: what was recorded, to read, to take along and to look after.

Rule of this file: it shows and gathers; each thing that is done to a logbook stands in a
file of its own, callout/cli/log_NAME.py, which is imported when it is asked for.
"""

from __future__ import annotations

import importlib
import re
import sys
from collections.abc import Iterable, Iterator
from enum import Enum
from typing import Any

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK, SESSION
from callout.logbook.places import Place, default_logbook
from callout.logbook.rows import Entry, SessionRow, event_of, fact_of
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

COMMANDS: dict[str, str] = {
    "backup": "Copy a logbook to a new file, also while a session runs, and check the copy.",
    "deliver": "Bring what this machine kept to the server of a shared logbook.",
    "export": "Give everything that was recorded, as JSON lines or CSV.",
    "purge": "Remove recordings of talk for good; the record stays.",
    "import": "Take an export into a logbook: what is new, and nothing twice.",
    "repair": "Write what can be read of a damaged logbook into a new one.",
}
"""Command name -> one-line help; callout.cli.log_NAME has a click command `command`."""

LATEST = 50
"""Sessions that are listed when nothing else is asked for."""

_UNTOLD = {"Clock", "SpeechEnded"}
"""Events that say nothing to a reader; the facts that follow from them are shown."""


class _Log(click.Group):
    """A group that shows, where no command of its own is named."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        first = args[0] if args else ""
        if first not in COMMANDS and first != "--help":
            args = ["show", *args]
        return super().parse_args(ctx, args)

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name == "show":
            return show
        if name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"callout.cli.log_{name}").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(sorted(COMMANDS.items()))


@click.command("log", cls=_Log, options_metavar="[SESSION] [OPTIONS]",
               subcommand_metavar="| COMMAND [ARGS]...")  # fmt: skip
def command() -> None:
    """List what was recorded.

    Without SESSION it lists the latest sessions (--all: every one); with the number of
    one it shows its timeline. --logbook says which logbook: a file, or the URL of a
    server; your own if not given.
    """


@click.command("show")
@click.argument("session", required=False, type=SESSION)
@click.option("--all", "every", is_flag=True, help="Every session, not only the latest.")
@click.option("--logbook", "path", type=LOGBOOK, help="The logbook, file or URL.")
def show(session: int | None, every: bool, path: Place | None) -> None:
    """List the latest sessions, or show the timeline of SESSION."""
    with (
        say_errors(),
        Logbook.read(path or default_logbook()) as logbook,
        logbook.snapshot(),
    ):
        if session is None:
            _show_sessions(logbook, None if every else LATEST)
        else:
            _show_timeline(logbook, session)


def _show_sessions(logbook: Logbook, most: int | None) -> None:
    rows = logbook.sessions() if most is None else logbook.latest(most)
    if not rows:
        click.echo(f"No session was recorded yet in {logbook.path}.")
        return
    if len(rows) == most and (earlier := logbook.how_many() - most):
        click.echo(f"The latest {most}; {earlier} earlier ones with --all.")
    table = _table("session", "began (UTC)", "aircraft", "revision", "ticks", "ended")
    for row in rows:
        cells = (row.session, _utc(row.began), row.aircraft, row.revision, row.ticks, _end(row))
        table.add_row(*(_cell(cell) for cell in cells))
    _print(table)


def _show_timeline(logbook: Logbook, session: int) -> None:
    row = logbook.session(session)
    _print(_cell(f"Session {session}: {row.aircraft}, revision {row.revision}, from {row.file}"))
    _print(_cell(f"Began {_utc(row.began)} UTC; {_end(row)}."))
    table = _table("time", "UTC", "what", "about", "details")
    untold = 0
    for entry in logbook.entries(session):
        if entry.name in _UNTOLD and entry.kind == "event":
            untold += 1
            continue
        what, details = _told(entry)
        when = (_minutes(entry.stamp.now), _utc(entry.stamp)[11:])
        table.add_row(*(_cell(cell) for cell in (*when, what, entry.about, details)))
    _print(table)
    if untold:
        _print(
            _cell(f"Not shown: {untold} of clock and voice; `callout log export` gives everything.")
        )


def _told(entry: Entry) -> tuple[str, str]:
    """Say what an entry is, and its details; a fact stands under its event with a dash."""
    if entry.kind == "fact":
        return f"- {entry.name}", _pairs(fact_of(entry).data)
    event = event_of(entry)
    words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", entry.name).lower()
    return words, _pairs(_fields(event))


def _fields(event: object) -> Iterator[tuple[str, object]]:
    """Yield an event's fields but for those that only machines need."""
    for name in type(event).__dataclass_fields__:  # type: ignore[attr-defined]
        value: Any = getattr(event, name)
        if isinstance(value, tuple):
            value = ", ".join(_member(member) for member in value)
        if isinstance(value, Enum):
            value = value.value
        if name not in {"grammar", "began", "ended", "at"} and value not in ("", False):
            yield name, f"{value:.2f}" if isinstance(value, float) else value


def _member(member: object) -> str:
    """One of a row of values; a row in it as words."""
    return " ".join(map(str, member)) if isinstance(member, tuple) else str(member)


def _pairs(pairs: Iterable[tuple[str, object]]) -> str:
    return "; ".join(f"{key}: {value}" for key, value in pairs)


def _table(*columns: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in columns:
        right = column in {"session", "ticks", "time"}
        table.add_column(column, justify="right" if right else "left", overflow="fold")
    return table


def _cell(value: object) -> Text:
    """Plain text: no markup is read in it, and what a terminal would obey is spelled out."""
    shown = (
        c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in str(value)
    )
    return Text("".join(shown))


def _print(what: Table | Text) -> None:
    Console(file=sys.stdout, highlight=False).print(what)


def _end(row: SessionRow) -> str:
    if row.ended is None:
        return "not ended"
    return f"{row.how} at {_utc(row.ended)[11:]}"


def _utc(stamp: Stamp) -> str:
    """Give date and time to the second, as 2031-05-04 09:30:00."""
    return stamp.wall[:19].replace("T", " ")


def _minutes(seconds: float) -> str:
    """Give session time as minutes, seconds and tenths: 12:05.3."""
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths // 10 % 60:02d}.{tenths % 10}"
