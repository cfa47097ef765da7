"""Files that a command was asked for: written, or said why not.

Rule of this file: what is there already is replaced only if it is of the same kind by its
name, so that no list, logbook or recording is lost by a name mistyped.
"""

from __future__ import annotations

from pathlib import Path

import click

HTML, PDF, SVG, YAML = (".html", ".htm"), (".pdf",), (".svg",), (".yaml", ".yml")
"""Endings of what is written."""


def write(file: Path, made: bytes | str, endings: tuple[str, ...]) -> None:
    """Write it, text as UTF-8.

    Raises click.UsageError: the file is there and has none of the endings, or cannot be
    written, and why.
    """
    if file.is_file() and file.suffix.lower() not in endings:
        raise click.UsageError(
            f"{file} is there already and is no {endings[0]}: give another name."
        )
    try:
        file.write_bytes(made.encode("utf-8") if isinstance(made, str) else made)
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        reason = getattr(error, "strerror", None) or error
        raise click.UsageError(f"{file} cannot be written: {reason}.") from None


def write_and_tell(file: Path, made: bytes, endings: tuple[str, ...]) -> None:
    """As `write`, and tell the size."""
    write(file, made, endings)
    click.echo(f"{file}: {len(made) / 1000:.0f} kB.", err=True)
