"""`callout bench soak`: hours of talk and noise that are meant for nobody, session after session.

Rule of this file: it reads options and prints; what is measured stands in
callout/running/bench_soak.py.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.bench_options import EXISTING, example, open_ear, sets
from callout.cli.errors import say_errors

if TYPE_CHECKING:
    from callout.running.bench_soak import Soak


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
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
def soak(
    hours: float, speech: Sequence[Path], noise: Sequence[Path], aircraft: Path | None, ear: str,
    seed: int, as_json: bool,
) -> None:  # fmt: skip
    """Sessions at random in a noisy hangar: false ticks, memory, and whether time drifts.

    The pilot's answers are typed, so whatever the ear ticks is false.
    """
    from callout.checklist.load import load
    from callout.running import bench_soak as measuring

    talk, noises, heard = sets(speech), sets(noise), open_ear(ear)
    with say_errors(), tempfile.TemporaryDirectory() as folder:
        result = measuring.soak(
            heard, load(aircraft or example()), talk, noises, Path(folder),
            hours=hours, seed=seed, told=_tell,
        )  # fmt: skip
    heard.close()
    if as_json:
        click.echo(json.dumps(_figures(result)))
    else:
        _print(result)


def _tell(so_far: Soak) -> None:
    click.echo(
        f"\r{so_far.seconds / 3600:.2f} h, {so_far.sessions} sessions", nl=False, file=sys.stderr
    )


def _rates(result: Soak) -> dict[str, float]:
    hours = result.seconds / 3600
    return {
        kind: len(result.ticks.get(kind, ())) / hours for kind in ("ordinary", "killer", "value")
    }


def _figures(result: Soak) -> dict[str, object]:
    return {
        "hours": round(result.seconds / 3600, 4), "sessions": result.sessions,
        "typed": result.typed, "ticks": result.ticks, "other": result.other,
        "asked_hours": {kind: round(s / 3600, 4) for kind, s in sorted(result.asked.items())},
        "drift": result.drift, "late": result.late, "waits": result.waits,
        "growth": round(result.growth, 4),
        "memory": [(round(at), round(mb, 1)) for at, mb in result.memory],
    }  # fmt: skip


def _print(result: Soak) -> None:
    click.echo(f"\n{result.seconds / 3600:.2f} h of sound, {result.sessions} sessions, "
               f"{result.typed} items ticked by the pilot's keys.")  # fmt: skip
    for kind, rate in _rates(result).items():
        asked = result.asked.get(kind, 0.0) / 3600
        what = "; ".join(result.ticks.get(kind, ()))
        click.echo(f"false ticks of {kind} items: {len(result.ticks.get(kind, ()))} ({rate:.2f} an "
                   f"hour; asked for {asked:.2f} h){': ' if what else ''}{what}")  # fmt: skip
    click.echo(f"words taken that were meant for nobody, ticks among them: {result.other}")
    click.echo(f"session time from sound: at most {1000 * result.drift:.1f} ms; timed waits from "
               f"their length: at most {1000 * result.waits:.1f} ms; an utterance was told at most "
               f"{result.late:.2f} s after its end")  # fmt: skip
    looks = ", ".join(f"{at / 3600:.1f} h {mb:.0f}" for at, mb in result.memory)
    click.echo(f"memory (MB): {looks}; first third to last {100 * result.growth:+.1f} %")
