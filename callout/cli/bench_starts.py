"""`callout bench starts`: simulated starts by the real engine, bad ones against calls.

Rule of this file: it reads options and prints; what is measured and how stands
in callout/benches/starts.py.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors

if TYPE_CHECKING:
    from callout.benches.starts import Bench, Row

_EXAMPLE = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"


@click.command()
@click.option("--aircraft", type=click.Path(exists=True, dir_okay=False, path_type=Path),
              default=_EXAMPLE, help="Aircraft file with the simulator's gauges. "
              "[default: the example]")  # fmt: skip
@click.option("--count", default=1000, show_default=True, type=click.IntRange(1, 100_000),
              help="How many starts.")  # fmt: skip
@click.option("--seed", default=1, show_default=True, help="Another seed gives other starts.")
@click.option("--first", default=0, show_default=True, type=click.IntRange(0),
              help="Number of the first start: one alone is --first 252 --count 1.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
def starts(aircraft: Path, count: int, seed: int, first: int, as_json: bool) -> None:
    """Simulated starts: bad ones called, in time or not, and good ones broken off.

    Air, battery, hands and faults by chance, sensors with noise, through the feed
    and the engine. Bad or good is the simulated machine's own truth.
    """
    from callout.benches.starts import run

    with say_errors():
        bench = run(aircraft, count, seed, first=first)
    if as_json:
        click.echo(json.dumps(_figures(bench, count, seed)))
        return
    click.echo("The engine is invented and simulated; the figures say nothing of a real one.")
    click.echo(_HEAD)
    for kind, row in bench.rows.items():
        click.echo(_line(kind, row))
    click.echo(_line("all", bench.all))
    click.echo(_leads(bench.all))
    for one in bench.wrong:
        click.echo(f"  {one}")


_HEAD = (
    f"{'kind':18} {'starts':>6} {'bad':>5} {'called':>6} {'late':>5} {'missed':>6} "
    f"{'named':>5} {'good':>5} {'false':>5}   call after what shows it, s: p95, worst"
)


def _line(kind: str, row: Row) -> str:
    figures = row.figures()
    late = f"{figures['delay_p95_s']}, {figures['delay_worst_s']}" if row.delays else ""
    return (
        f"{kind:18} {row.starts:6} {row.bad:5} {row.called:6} {row.late:5} {row.missed:6} "
        f"{row.named:5} {row.good:5} {row.false:5}   {late}"
    )


def _leads(row: Row) -> str:
    share = 100.0 * row.false / row.good if row.good else 0.0
    text = f"good starts broken off: {share:.2f} %"
    if row.leads:
        figures = row.figures()
        text += (
            f"; hot starts called before the limit by, s: p5 {figures['lead_p5_s']}, "
            f"p50 {figures['lead_p50_s']}, p95 {figures['lead_p95_s']} of {len(row.leads)}"
        )
    return text


def _figures(bench: Bench, count: int, seed: int) -> dict[str, object]:
    return {
        "count": count,
        "seed": seed,
        "all": bench.all.figures(),
        "kinds": {kind: row.figures() for kind, row in bench.rows.items()},
        "wrong": bench.wrong,
    }
