"""`callout schema`: the JSON Schema of aircraft files, for editors.

Rule of this file: it prints; the schema is made in checklist/export.py.
"""

from __future__ import annotations

import json

import click

from callout.checklist.export import json_schema


@click.command()
def command() -> None:
    """Print the JSON Schema of aircraft files, so that an editor completes and checks."""
    click.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False))
