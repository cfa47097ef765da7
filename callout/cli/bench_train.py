"""`callout bench train`: every drill by recordings, in several voices.

Rule of this file: it reads options and prints; what is measured and how stands in
callout/benches/train.py.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors

if TYPE_CHECKING:
    from callout.benches.train import Row

_EXAMPLE = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"


@click.command()
@click.option(
    "--aircraft",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    default=_EXAMPLE,
    help="Aircraft file with drills. [default: the example]",
)
@click.option(
    "--voice",
    "voices",
    multiple=True,
    help="hibari, or a voice of eSpeak NG such as en-us+f2. [default: three of them]",
)
@click.option("--drill", "drills", multiple=True, help="Only this drill.")
@click.option(
    "--kind",
    "kinds",
    multiple=True,
    type=click.Choice(["perfect", "silent", "late", "wrong"]),
    help="Only this kind of trainee. [default: all four]",
)
@click.option(
    "--jobs", type=click.IntRange(1, 64), default=1, show_default=True, help="So many at once."
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
def train(
    aircraft: Path, voices: tuple[str, ...], drills: tuple[str, ...], kinds: tuple[str, ...],
    jobs: int, as_json: bool,
) -> None:  # fmt: skip
    """Drills by recordings: a perfect, a silent, a late and a wrong trainee in each voice.

    A row is right where the score and each call are what the drill makes of such a
    trainee; a silent one has no voice and goes through each drill once.
    """
    from callout.benches.train import KINDS, VOICES, run

    def tell(row: Row) -> None:
        if not as_json:
            click.echo(_line(row))

    if not as_json:
        click.echo(_HEAD)
    with say_errors():
        rows = run(aircraft, voices or VOICES, drills, kinds or KINDS, tell, jobs)
    if as_json:
        click.echo(json.dumps({"table": [asdict(one) for one in rows]}))
        return
    for kind, voice in dict.fromkeys((one.kind, one.voice) for one in rows):
        these = [one for one in rows if (one.kind, one.voice) == (kind, voice)]
        right = sum(not one.wrong for one in these)
        click.echo(f"{kind:8} {voice:9} {right:3} of {len(these):3} right")


_HEAD = f"{'kind':8} {'drill':24} {'role':7} {'voice':9} {'%':>4} {'wanted':>6}"


def _line(row: Row) -> str:
    wrong = f"  WRONG: {'; '.join(row.wrong)}" if row.wrong else "  right"
    return (
        f"{row.kind:8} {row.drill:24} {row.role:7} {row.voice:9} {row.percent:4} {row.wanted:6}"
        f"{wrong}"
    )
