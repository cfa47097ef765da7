"""`callout bench limits`: how early "rising fast" is said, how often for nothing, and its cost.

Rule of this file: it reads options and prints; what is measured stands in
callout/benches/limits.py.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.bench_options import EXISTING, example
from callout.cli.errors import say_errors

if TYPE_CHECKING:
    from callout.benches.limits_figures import Cost, NoiseFigures, StartFigures


@click.command()
@click.option("--aircraft", type=EXISTING, default=None,
              help="Whose limits; the example aircraft if none is given.")  # fmt: skip
@click.option("--gauge", default="exhaust-temperature", show_default=True,
              help="Which gauge shows the exhaust temperature.")  # fmt: skip
@click.option("--starts", default=300, show_default=True, type=click.IntRange(1),
              help="How many simulated starts.")  # fmt: skip
@click.option(
    "--hz",
    multiple=True,
    default=(10.0,),
    show_default=True,
    type=click.FloatRange(1, 100),
    help="Samples a second; may be given several times.",
)
@click.option(
    "--look-ahead",
    "looks",
    multiple=True,
    type=click.FloatRange(0.1, 60),
    help="Seconds looked ahead, in place of the file's; may be given several times.",
)
@click.option("--sigma", default=1.5, show_default=True, type=click.FloatRange(0),
              help="Standard deviation of the gauge's noise, in its unit.")  # fmt: skip
@click.option("--hours", default=1.0, show_default=True, type=click.FloatRange(0),
              help="How long each kind of noise lasts.")  # fmt: skip
@click.option("--samples", default=20_000, show_default=True, type=click.IntRange(100),
              help="How many samples are timed.")  # fmt: skip
@click.option("--seed", default=1, show_default=True, help="Of what is left to chance.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
def limits(
    aircraft: Path | None, gauge: str, starts: int, hz: tuple[float, ...],
    looks: tuple[float, ...], sigma: float, hours: float, samples: int, seed: int, as_json: bool,
) -> None:  # fmt: skip
    """Limits over simulated starts and over noise: calls ahead, false alarms, cost a sample."""
    from callout.benches import limits as bench
    from callout.benches.limits_noise import cost, over_noise
    from callout.checklist.load import load

    with say_errors():
        asked = load(aircraft or example())
    known = {one.id: one for one in asked.gauges}
    if gauge not in known:
        raise click.UsageError(f"This aircraft has no gauge {gauge!r}.")
    watched = known[gauge]
    if bench.never_above(watched, bench.STATE) == float("inf"):
        raise click.UsageError(f"{gauge} has no never-exceed limit while the engine starts.")
    for rate in hz:
        made = list(bench.simulated(starts, seed, rate))
        for one in [bench.looking(watched, look) for look in looks] or [watched]:
            _print("starts", bench.over_starts(one, made, rate, sigma, seed), as_json)
        for row in over_noise(watched, rate, sigma, hours, seed) if hours else ():
            _print("noise", row, as_json)
    _print("cost", cost(asked, watched, samples), as_json)


def _print(what: str, row: StartFigures | NoiseFigures | Cost, as_json: bool) -> None:
    if as_json:
        click.echo(json.dumps({"what": what, **asdict(row)}))
    else:
        click.echo(row.told())
