"""`callout log export`: everything that was recorded, for other programs and other logbooks.

Rule of this file: it only reads the logbook; what a line looks like stands in
callout/logbook/export.py. A file is written whole or not at all, and never over another.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, suppress
from pathlib import Path

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK, SESSION
from callout.logbook.export import csv_lines, json_lines
from callout.logbook.places import Place, default_logbook
from callout.logbook.store import Logbook

_FORMS: dict[str, Callable[[Logbook, Iterable[int]], Iterator[str]]] = {
    "jsonl": json_lines,
    "csv": csv_lines,
}


class _Refused(click.ClickException):
    """A sentence for the person; the same exit status as a wrong command line."""

    exit_code = 2


@click.command("export")
@click.argument("session", required=False, type=SESSION)
@click.option("--form", type=click.Choice(tuple(_FORMS)), default="jsonl", show_default=True,
              help="JSON lines or CSV; both hold everything.")  # fmt: skip
@click.option("--to", type=click.Path(path_type=Path), help="Write to a new file.")
@click.option("--logbook", "path", type=LOGBOOK, help="The logbook, file or URL; your own if none.")
def command(session: int | None, form: str, to: Path | None, path: Place | None) -> None:
    """Give every session, or SESSION alone, as `callout log import` takes it."""
    with (
        say_errors(),
        Logbook.read(path or default_logbook()) as logbook,
        logbook.snapshot(),
    ):
        numbers = logbook.numbers() if session is None else [logbook.session(session).session]
        # Bytes, because the ends of lines are part of both forms.
        # Closed before the logbook is: whoever reads a pipe may hang up early.
        with closing(line.encode("utf-8") for line in _FORMS[form](logbook, numbers)) as lines:
            _write(to, lines)
        if to is not None:
            sessions = "1 session" if len(numbers) == 1 else f"{len(numbers)} sessions"
            click.echo(f"Wrote {sessions} to {to}.")


def _write(to: Path | None, lines: Iterable[bytes]) -> None:
    if to is None:
        sys.stdout.buffer.writelines(lines)
        sys.stdout.buffer.flush()
    else:
        _write_new(to, lines)


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
