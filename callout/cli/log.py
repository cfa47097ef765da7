"""`callout log`: what was recorded, to read and to take along.

Rule of this file: it only reads. What it shows comes from callout.logbook.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from enum import Enum
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from callout.cli.logbook_place import LOGBOOK
from callout.logbook.errors import LogbookError
from callout.logbook.export import csv_lines, json_lines
from callout.logbook.places import Place, default_logbook
from callout.logbook.rows import Entry, SessionRow, event_of, fact_of
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

_FORMS: dict[str, Callable[[Logbook, Iterable[int]], Iterator[str]]] = {
    "jsonl": json_lines,
    "csv": csv_lines,
}

_UNTOLD = {"Clock", "SpeechEnded"}
"""Events that say nothing to a reader; the facts that follow from them are shown."""

_LARGEST = 2**63 - 1
"""Largest number SQLite gives a row (sqlite.org/autoinc.html)."""


class _Refused(click.ClickException):
    """A sentence for the person; the same exit status as a wrong command line."""

    exit_code = 2


@click.command(name="log")
@click.argument("session", required=False, type=click.IntRange(1, _LARGEST))
@click.option(
    "--export",
    "form",
    type=click.Choice(tuple(_FORMS)),
    help="Give everything as JSON lines, or the entries as CSV, instead of a table.",
)
@click.option("--to", type=click.Path(path_type=Path), help="Write the export to a new file.")
@click.option(
    "--logbook",
    "path",
    type=LOGBOOK,
    help="The logbook to read, file or URL; your own if not given.",
)
def command(session: int | None, form: str | None, to: Path | None, path: Place | None) -> None:
    """List and export what was recorded.

    Without SESSION it lists all sessions; with the number of one it shows its timeline.
    """
    if to is not None and form is None:
        raise click.UsageError("--to needs a form: add --export jsonl or --export csv.")
    try:
        with Logbook.read(path or default_logbook()) as logbook, logbook.snapshot():
            if form is not None:
                _export(logbook, session, form, to)
            elif session is None:
                _show_sessions(logbook)
            else:
                _show_timeline(logbook, session)
    except LogbookError as error:
        raise _Refused(str(error)) from None


def _export(logbook: Logbook, session: int | None, form: str, to: Path | None) -> None:
    numbers = [row.session for row in logbook.sessions()]
    if session is not None:
        numbers = [logbook.session(session).session]
    # Bytes, because the ends of lines are part of both forms.
    lines = (line.encode("utf-8") for line in _FORMS[form](logbook, numbers))
    if to is None:
        stream = sys.stdout.buffer
        stream.writelines(lines)
        stream.flush()
    else:
        _write_new(to, lines)
        sessions = "1 session" if len(numbers) == 1 else f"{len(numbers)} sessions"
        click.echo(f"Wrote {sessions} to {to}.")


def _write_new(to: Path, lines: Iterable[bytes]) -> None:
    """Write a file that was not there, whole or not at all."""
    try:
        file = to.open("xb")
    except FileExistsError:
        raise _Refused(f"{to} is there already. Give the name of a new file.") from None
    except (OSError, ValueError) as error:
        raise _Refused(f"{to} cannot be written: {_reason(error)}.") from None
    try:
        with file:
            file.writelines(lines)
    except BaseException as error:
        with suppress(OSError):
            to.unlink()
        if isinstance(error, OSError):
            raise _Refused(f"{to} cannot be written: {_reason(error)}.") from None
        raise


def _reason(error: Exception) -> str:
    return str(getattr(error, "strerror", None) or error)


def _show_sessions(logbook: Logbook) -> None:
    rows = logbook.sessions()
    if not rows:
        click.echo(f"No session was recorded yet in {logbook.path}.")
        return
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
        _print(_cell(f"Not shown: {untold} of clock and voice; --export gives everything."))


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
