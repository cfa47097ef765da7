"""`callout bench soak`: hours of talk and noise that are meant for nobody, session after session.

Rule of this file: it reads options and prints; what is measured stands in
callout/benches/soak.py.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.bench_options import EXISTING, example, open_ear, sets
from callout.cli.errors import say_errors

if TYPE_CHECKING:
    from callout.benches.soak_figures import Hour, Soak


@click.command()
@click.option("--hours", default=1.0, show_default=True, type=click.FloatRange(0.01, 200),
              help="How long, in hours of sound.")  # fmt: skip
@click.option("--speech", multiple=True, required=True, type=EXISTING,
              help="A set of talk (SET.json); may be given several times.")  # fmt: skip
@click.option("--noise", multiple=True, required=True, type=EXISTING,
              help="A set of noises (SET.json); may be given several times.")  # fmt: skip
@click.option("--aircraft", type=EXISTING, default=None,
              help="Whose lists; the example aircraft if none is given.")  # fmt: skip
@click.option("--ear", default="built-in", show_default=True, help="Which ear.")
@click.option("--seed", default=1, show_default=True, help="Another seed gives other sound.")
@click.option("--minutes", default=None, type=click.FloatRange(0.1, 10_000),
              help="Stop after so many minutes of the clock, however far it is.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
def soak(
    hours: float, speech: Sequence[Path], noise: Sequence[Path], aircraft: Path | None, ear: str,
    seed: int, minutes: float | None, as_json: bool,
) -> None:  # fmt: skip
    """Sessions at random in a noisy hangar: false ticks, memory, and whether time drifts.

    The pilot's answers are typed, so whatever the ear ticks is false.
    """
    from callout.benches import soak as measuring
    from callout.checklist.load import load

    begun = time.monotonic()
    talk, noises, heard = sets(speech), sets(noise), open_ear(ear)
    with say_errors(), tempfile.TemporaryDirectory() as folder:
        result = measuring.soak(
            heard, load(aircraft or example()), talk, noises, Path(folder),
            hours=hours, seed=seed, told=_tell,
            enough=lambda: minutes is not None and time.monotonic() - begun > 60 * minutes,
        )  # fmt: skip
    heard.close()
    if as_json:
        click.echo(json.dumps(_figures(result)))
    else:
        _print(result)


def _tell(so_far: Soak) -> None:
    click.echo(
        f"\r{so_far.seconds / 3600:.2f} h, {so_far.total('sessions')} sessions",
        nl=False, file=sys.stderr,
    )  # fmt: skip


def _figures(result: Soak) -> dict[str, object]:
    return {
        "hours": round(result.seconds / 3600, 4), "ticks": result.ticks,
        **{name: result.total(name) for name in ("sessions", "typed", "other")},
        **{name: result.most(name) for name in ("drift", "late", "waits")},
        "asked_hours": {kind: round(s / 3600, 4) for kind, s in sorted(result.asked.items())},
        "growth": round(result.growth, 4),
        "memory": [(round(at), round(mb, 1)) for at, mb in result.memory],
        "by_hour": [asdict(hour) for hour in result.hours],
    }  # fmt: skip


def _print(result: Soak) -> None:
    click.echo(f"\n{result.seconds / 3600:.2f} h of sound, {result.total('sessions')} sessions, "
               f"{result.total('typed')} items ticked by the pilot's keys.")  # fmt: skip
    for kind in ("ordinary", "killer", "value"):
        asked, ticked = result.asked.get(kind, 0.0) / 3600, result.ticks.get(kind, ())
        what = "; ".join(ticked)
        click.echo(f"false ticks of {kind} items: {len(ticked)} (asked for {asked:.2f} h)"
                   f"{': ' if what else ''}{what}")  # fmt: skip
    click.echo(_HEAD)
    for number, hour in enumerate(result.hours, 1):
        click.echo(_line(str(number), hour))
    click.echo(f"memory from the first third to the last: {100 * result.growth:+.1f} %")


_HEAD = (
    "hour     min  sessions  typed  false ticks  words taken  "
    "time from sound, ms  wait from its length, ms  told after, s  MB"
)


def _line(name: str, hour: Hour) -> str:
    return (
        f"{name:5} {hour.seconds / 60:6.1f} {hour.sessions:9} {hour.typed:6} {hour.ticks:12} "
        f"{hour.other:12} {1000 * hour.drift:20.1f} {1000 * hour.waits:25.1f} {hour.late:14.2f} "
        f"{hour.memory:5.0f}"
    )
