"""`callout bench turn`: how long callout lets a pilot wait.

Rule of this file: it reads options and prints; what is measured and how stands
in callout/benches/turn*.py.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.bench_options import EXISTING, example
from callout.cli.errors import say_errors

if TYPE_CHECKING:
    from callout.benches.turn_found import Measured


@click.command()
@click.argument("aircraft", type=EXISTING, required=False)
@click.option(
    "--list",
    "list_id",
    default="",
    help="Which list; the first that begins with questions if not given.",
)
@click.option(
    "--turns", default=20, show_default=True, type=click.IntRange(1), help="So many answers."
)
@click.option(
    "--clock",
    type=click.Choice(["real", "recording"]),
    default="real",
    show_default=True,
    help="real: the whole program between virtual sound devices of PulseAudio; "
    "recording: what the ear waits for, the same in every run.",
)
@click.option(
    "--speech",
    multiple=True,
    type=EXISTING,
    help="Recordings of the answers (SET.json), instead of eSpeak NG's voice.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
def turn(
    aircraft: Path | None, list_id: str, turns: int, clock: str,
    speech: Sequence[Path], as_json: bool,
) -> None:  # fmt: skip
    """From the end of the pilot's word to the next call, and what else a turn takes.

    A voice that is not callout's answers the questions of a list; every third
    time it cuts into a long sentence. AIRCRAFT is the example if none is given.
    """
    from callout.benches.turn_figures import lines

    with say_errors():
        before = _load()
        measured = _measure(aircraft or example(), list_id, turns, clock, speech)
        row = _row(measured, clock, (before, _load()))
    click.echo(json.dumps(row) if as_json else "\n".join(lines(row)))
    if not row["n"]:
        sys.exit(1)


def _measure(
    aircraft: Path, list_id: str, turns: int, clock: str, speech: Sequence[Path]
) -> Measured:
    from callout.benches.devices import Server
    from callout.benches.pilot import pilot
    from callout.benches.turn import Bench
    from callout.benches.turn_lists import chosen
    from callout.benches.turn_recording import run_in_recording_time
    from callout.checklist.load import load

    known = load(aircraft)
    lists = (chosen(known, list_id),)
    speaker = pilot(speech)
    with click.progressbar(length=turns, file=sys.stderr) as bar:

        def told(count: int) -> None:
            bar.update(count - bar.pos)

        if clock == "recording":
            with tempfile.TemporaryDirectory() as folder:
                return run_in_recording_time(known, lists, speaker, turns, Path(folder), told)
        with Server() as server:
            bench = Bench(aircraft, known, lists, speaker, server)
            bench.prepare()
            return bench.run(turns, told)


def _row(measured: Measured, clock: str, load: tuple[float, float]) -> dict[str, object]:
    from callout.benches.turn_figures import as_json

    return as_json(measured, clock, load)


def _load() -> float:
    return os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
