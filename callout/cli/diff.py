"""`callout diff OLD.yaml NEW.yaml`: what changed, in words that a pilot cares about.

Rule of this file: it prints; what differs is found in writing/changes.py.
"""

from __future__ import annotations

import json
from pathlib import Path

import click

from callout.cli.errors import say_errors


@click.command()
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the changes as JSON.")
def command(old: Path, new: Path, as_json: bool) -> None:
    """Tell what changed from OLD to NEW: items, answers, limits, order, and all else.

    Exit status 0 where nothing changed, 1 where something did. Comments and
    `reviewed` change nothing that is said or done, and are not told.
    """
    from callout.checklist.content import digests
    from callout.checklist.load import load
    from callout.writing.changes import changes

    with say_errors():
        before, after = load(old), load(new)
    found = changes(before, after)
    if as_json:
        rows = [{"part": one.part, "what": one.what} for one in found]
        click.echo(json.dumps(rows, indent=2, ensure_ascii=False))
    else:
        part = ""
        for one in found:
            if one.part != part:
                part = one.part
                click.echo(part.upper())
            click.echo(f"  {one.what}")
        was = dict(digests(before))
        touched = [name for name, digest in digests(after) if was.get(name) != digest]
        lists = f" Lists to be run as changed: {', '.join(touched)}." if touched else ""
        count = f"{len(found)} {'change' if len(found) == 1 else 'changes'}"
        revision = f"revision {before.revision} to {after.revision}"
        click.echo(f"{count}, {revision}.{lists}")
        if found and before.revision == after.revision:
            click.echo("Caution: the lists changed and the revision did not.", err=True)
    raise SystemExit(1 if found else 0)
