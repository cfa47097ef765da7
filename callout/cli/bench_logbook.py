"""`callout bench logbook`: how large a logbook of many sessions is, and how fast to read.

Rule of this file: it reads options and prints; what is measured stands in
callout/benches/logbook.py.
"""

from __future__ import annotations

import json
import tempfile
from dataclasses import asdict
from pathlib import Path

import click

from callout.cli.bench_options import example
from callout.cli.errors import say_errors


@click.command()
@click.option("--sessions", default=20000, show_default=True, type=click.IntRange(1, 200000),
              help="How many invented sessions; 20000 need 8 GB of disk.")  # fmt: skip
@click.option("--folder", type=click.Path(path_type=Path, file_okay=False, exists=True),
              help="Where the logbook is made and left; else it is removed.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
def logbook(sessions: int, folder: Path | None, as_json: bool) -> None:
    """Opening, reports and trends of a logbook of invented flying days."""
    from callout.benches.logbook import MANY, measure
    from callout.checklist.load import load_all

    if folder is not None and (folder / MANY).exists():
        raise click.UsageError(f"{folder / MANY} is there already. Give another folder.")
    file = example()
    with say_errors(), tempfile.TemporaryDirectory() as temporary:
        took = measure(folder or Path(temporary), load_all(file), file.resolve(), sessions)
    if as_json:
        rounded = {
            key: [round(v, 3) if isinstance(v, float) else v for v in value]
            if isinstance(value, tuple)
            else round(value, 4) if isinstance(value, float) else value
            for key, value in asdict(took).items()
        }  # fmt: skip
        click.echo(json.dumps(rounded))
        return
    click.echo(
        f"{took.sessions} sessions, {took.entries} entries, {took.megabytes:.0f} MB, written in "
        f"{took.writing:.0f} s. Opening with what past sessions counted: {took.opening:.3f} s "
        f"(an empty one {took.opening_empty:.3f} s), reading all they counted "
        f"{took.opening_all:.3f} s; checking all of it, as is done now and "
        f"then after a session: {took.whole_check:.1f} s. Report: {max(took.reports):.2f} s "
        f"({took.reports_work:.2f} s of it the processor's), PDF "
        f"{took.paper:.2f} s. Trends: {took.trends:.2f} s ({took.trends_work:.2f} s). The list of "
        f"the latest sessions: {took.log:.2f} s. A checked backup: {took.backup:.1f} s."
    )
    for line in took.told:
        click.echo(line)
