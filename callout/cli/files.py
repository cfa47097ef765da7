"""Files that a command was asked for: written, or said why not.

Rule of this file: a file that is there already is replaced; who must not do so asks first.
"""

from __future__ import annotations

from pathlib import Path

import click


def write(file: Path, made: bytes | str) -> None:
    """Write it, text as UTF-8.  Raises click.UsageError: which file cannot be written, and why."""
    try:
        file.write_bytes(made.encode("utf-8") if isinstance(made, str) else made)
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        reason = getattr(error, "strerror", None) or error
        raise click.UsageError(f"{file} cannot be written: {reason}.") from None


def write_and_tell(file: Path, made: bytes) -> None:
    """Write it and tell its size."""
    write(file, made)
    click.echo(f"{file}: {len(made) / 1000:.0f} kB.", err=True)
