"""`callout review AIRCRAFT.yaml`: what people would get wrong by a list.

Rule of this file: it prints. Exit status 0 where nothing of the grade asked for
is found, 1 where something is, 2 for a file that is wrong.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors

if TYPE_CHECKING:
    from callout.checklist.review_model import Finding

GRADES = ("serious", "weak", "advice")


@click.command()
@click.argument("aircraft", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
@click.option(
    "--grade",
    type=click.Choice(GRADES),
    default=GRADES[-1],
    show_default=True,
    help="Only findings of this grade, or graver.",
)
@click.option("--kept", is_flag=True, help="Those that the file says are kept, too.")
def command(aircraft: Path, as_json: bool, grade: str, kept: bool) -> None:
    """Read AIRCRAFT as a list for people, and tell what they would get wrong by it.

    Each finding has its place, its reason, where that is published and what
    would be better. An owner who keeps one writes so into the file, with his
    reason: `reviewed: {RULE: reason}`.

    A review knows nothing of your machine: its handbook rules.
    """
    from callout.checklist.review_model import Grade
    from callout.running.reviewing import review_file

    with say_errors():
        findings = review_file(aircraft)
    wanted = [one for one in findings if one.grade.at_least(Grade(grade))]
    open_ones = [one for one in wanted if not one.kept]
    shown = wanted if kept else open_ones
    if as_json:
        click.echo(json.dumps([_fields(one) for one in shown], indent=2, ensure_ascii=False))
    else:
        for one in shown:
            click.echo("\n".join(_lines(one)))
        click.echo(_summary(open_ones, len(wanted) - len(open_ones)))
    raise SystemExit(1 if open_ones else 0)


def _lines(one: Finding) -> list[str]:
    kept = [f"    kept:   {one.kept}"] if one.kept else []
    return [
        str(one),
        f"    why:    {one.why}",
        f"    source: {one.source}",
        f"    better: {one.change}",
        *kept,
    ]


def _summary(findings: list[Finding], kept: int) -> str:
    count = {grade: sum(one.grade.value == grade for one in findings) for grade in GRADES}
    told = ", ".join(f"{number} {grade}" for grade, number in count.items() if number)
    more = f"; {kept} kept by the owner, with his reasons" if kept else ""
    return (
        f"{len(findings)} {'finding' if len(findings) == 1 else 'findings'}"
        + (f" ({told})" if told else "")
        + f"{more}."
    )


def _fields(one: Finding) -> dict[str, str | int]:
    return {
        "rule": one.rule,
        "grade": one.grade.value,
        "file": one.place.file,
        "line": one.place.line,
        "column": one.place.column,
        "what": one.what,
        "why": one.why,
        "source": one.source,
        "change": one.change,
        "kept": one.kept,
    }
