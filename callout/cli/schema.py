"""`callout schema`: the JSON Schema of aircraft files and of drills, for editors.

Rule of this file: it prints; the schemas are made in checklist/export.py and
trainer/schema.py.
"""

from __future__ import annotations

import json

import click

from callout.checklist.export import json_schema


@click.command()
@click.option("--drill", is_flag=True, help="That of drill files.")
def command(drill: bool) -> None:
    """Print the JSON Schema of aircraft files, so that an editor completes and checks."""
    if drill:
        from callout.trainer.schema import json_schema as drill_schema

        click.echo(json.dumps(drill_schema(), indent=2, ensure_ascii=False))
        return
    click.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False))
