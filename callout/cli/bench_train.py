"""`callout bench train`: every drill by recordings, in several voices.

Rule of this file: it reads options and prints; what is measured and how stands in
callout/running/bench_train.py.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors

if TYPE_CHECKING:
    from callout.running.bench_train import Row

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
@click.option("--perfect", is_flag=True, help="Only the perfect trainee.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
def train(
    aircraft: Path, voices: tuple[str, ...], drills: tuple[str, ...], perfect: bool, as_json: bool
) -> None:  # fmt: skip
    """Drills by recordings: a perfect, a silent, a late and a wrong trainee in each voice."""
    from callout.running.bench_train import VOICES, run

    def tell(row: Row) -> None:
        if not as_json:
            click.echo(_line(row))

    if not as_json:
        click.echo(_HEAD)
    with say_errors():
        rows = run(aircraft, voices or VOICES, drills, tell, perfect_only=perfect)
    right = {name: sum(one.perfect == 100 for one in rows if one.voice == name)
             for name in dict.fromkeys(one.voice for one in rows)}  # fmt: skip
    figures: dict[str, object] = {
        "rows": len(rows),
        "perfect at 100 %": sum(one.perfect == 100 for one in rows),
        "of them by voice": right,
    }
    if not perfect:
        figures |= {
            "silent at 0 %": sum(one.silent == 0 for one in rows),
            "late lost exactly the late calls": sum(one.only_late for one in rows),
            "wrong told every wrong call and why": sum(one.told for one in rows),
        }
    if as_json:
        click.echo(json.dumps({**figures, "table": [asdict(one) for one in rows]}))
        return
    for name, value in figures.items():
        click.echo(f"{name}: {value}")


_HEAD = (
    f"{'drill':24} {'role':7} {'voice':9} {'perfect':>7} {'silent':>6} {'late':>5} only late "
    f"{'wrong':>6} told"
)


def _line(row: Row) -> str:
    lost = f"  lost: {', '.join(row.lost)}" if row.lost else ""
    head = f"{row.drill:24} {row.roles:7} {row.voice:9} {row.perfect:7}"
    if row.silent < 0:
        return f"{head}{lost}"
    return (
        f"{head} {row.silent:6} {row.late:5} "
        f"{'yes' if row.only_late else 'no':9} {row.wrong:6} {'yes' if row.told else 'no'}{lost}"
    )
