"""`callout log repair`: what can be read of a damaged logbook, in a new one.

Rule of this file: it prints what was recovered and what is lost, and says so by its exit
status (1: something is lost); how it is read stands in callout/logbook/repair.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors

if TYPE_CHECKING:
    from callout.logbook.repair import Repaired

_TOLD = 20
"""Gaps that are told each."""


@click.command("repair")
@click.argument("damaged", metavar="DAMAGED.db", type=click.Path(path_type=Path))
@click.option("--to", required=True, type=click.Path(path_type=Path), help="The new file.")
def command(damaged: Path, to: Path) -> None:
    """Read what can be read of DAMAGED.db, and write it into a new logbook.

    DAMAGED.db and its -wal file are only read: keep them until you have seen what the new
    one holds.
    """
    from callout.logbook.repair import repair

    with say_errors():
        done = repair(damaged, to)
    for line in _said(done):
        click.echo(line)
    raise SystemExit(1 if _lost(done) else 0)


def _lost(done: Repaired) -> bool:
    return bool(done.unreadable or done.gaps or done.headless or done.stand_ins)


def _said(done: Repaired) -> list[str]:
    kept = ", ".join(f"{done.kept[name]} {name}" for name in done.kept if done.kept[name])
    said = [f"Recovered: {kept}."]
    if not _lost(done):
        return [*said, "Nothing is known to be missing."]
    if done.unreadable:
        said.append(f"Lost: {done.unreadable} rows that are there, but not whole.")
    for first, last in done.gaps[:_TOLD]:
        which = f"entry {first} is" if first == last else f"entries {first} to {last} are"
        said.append(f"Lost: {which} missing.")
    if len(done.gaps) > _TOLD:
        said.append(f"Lost: {len(done.gaps) - _TOLD} more gaps between entries.")
    if done.headless:
        numbers = ", ".join(map(str, done.headless[:_TOLD]))
        said.append(
            f"Lost: which aircraft and file session {numbers} was of; it is called 'lost' there."
        )
    if done.stand_ins:
        said.append(
            f"Lost: {done.stand_ins} events of which facts are left; a Clock stands for each."
        )
    return said
