"""`callout feed`: record, replay, show or simulate a feed of gauge readings.

Rule of this file: it turns words into places and prints; the work is done in
callout/running/feed_tools.py.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.cli.simulated import FAULTS

if TYPE_CHECKING:
    from rich.console import RenderableType

    from callout.running.feed_tools import Shown

_FROM = click.option(
    "--from", "source", required=True,
    help="- (standard input), a file, udp:PORT, udp:HOST:PORT, tcp:HOST:PORT or "
         "serial:DEVICE[:BAUD].",
)  # fmt: skip
_SECONDS = click.option(
    "--seconds", type=click.FloatRange(min=0, min_open=True), help="Stop after so long."
)
_STALE = 2.0
"""Seconds after which a value that is shown is marked as old."""


@click.group()
def command() -> None:
    """Record, replay, show or simulate a feed of gauge readings.

    A feed is lines of text: CSV with a head, or one JSON object a line. A column
    is named after its gauge in the aircraft file (or as that file's `feed:` says), with its
    unit in brackets if it likes: `time [s],exhaust-temperature [degC]`.
    """


@command.command()
@_FROM
@_SECONDS
@click.argument("file", type=click.Path(path_type=Path))
def record(source: str, seconds: float | None, file: Path) -> None:
    """Write what comes to FILE, as CSV, until it ends or Ctrl-C is pressed."""
    from callout.gauges.feed.places import place
    from callout.running.feed_tools import Recorded
    from callout.running.feed_tools import record as work

    def told(so_far: Recorded) -> None:
        if sys.stderr.isatty():
            click.echo(f"\r{so_far.lines} lines", err=True, nl=False)

    with say_errors():
        found = work(place(source), file, seconds, told)
        click.echo(f"{found.lines} lines in {file}.", err=True)
        if found.malformed:
            many = f"{found.malformed} lines were not understood, the first of them"
            click.echo(f"{many}: {found.first}.", err=True)


@command.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--to", "target", default="-", show_default=True,
              help="- (standard output), udp:PORT, udp:HOST:PORT, or tcp:PORT for one that "
                   "connects.")  # fmt: skip
@click.option("--speed", default="1", show_default=True,
              help="Times its own pace; `all` for at once.")  # fmt: skip
def replay(file: Path, target: str, speed: str) -> None:
    """Send a recorded feed again, at its own pace."""
    from callout.gauges.feed.places import place
    from callout.gauges.feed.targets import target as opened
    from callout.running.feed_tools import replay as work

    with say_errors():
        try:
            with opened(place(target)) as there:
                sent = work(file, there, _speed(speed))
        except BrokenPipeError:
            _give_up_output()
            return
        except KeyboardInterrupt:
            return
        if target != "-":
            click.echo(f"{sent} lines sent.", err=True)


def _speed(words: str) -> float | None:
    if words == "all":
        return None
    try:
        speed = float(words)
    except ValueError:
        speed = 0.0
    if not 0.0 < speed < float("inf"):
        raise click.BadParameter(
            f"{words!r} is no speed: give a number above 0, or all.", param_hint="--speed"
        )
    return speed


def _give_up_output() -> None:
    """Whoever read the lines went away: that is no error of ours."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


@command.command()
@_FROM
@_SECONDS
@click.argument("aircraft", required=False, type=click.Path(path_type=Path))
@click.option("--every", default=0.5, show_default=True, type=click.FloatRange(min=0.05),
              help="Seconds between two looks.")  # fmt: skip
def show(source: str, seconds: float | None, aircraft: Path | None, every: float) -> None:
    """Show the latest values as they come, and what is wrong with them.

    With AIRCRAFT they are judged as in a session: only what counts as a value is
    shown. Without, every column is shown as it comes.
    """
    from rich.console import Console
    from rich.live import Live

    from callout.checklist.load import load
    from callout.gauges.feed.places import place
    from callout.running.feed_tools import Shown
    from callout.running.feed_tools import show as work

    console = Console()
    with say_errors():
        gauges = load(aircraft).gauges if aircraft is not None else None
        looks = work(place(source), gauges, seconds, every)
        latest = Shown()
        try:
            if console.is_terminal:
                with Live(console=console, auto_refresh=False) as live:
                    for look in looks:
                        latest = look
                        live.update(_table(latest), refresh=True)
                return
            *_, latest = looks
        except KeyboardInterrupt:
            pass
        console.print(_table(latest))


def _table(shown: Shown) -> RenderableType:
    from rich.console import Group
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False, show_header=False)
    for name, (text, at) in shown.values.items():
        old = shown.at - at
        table.add_row(
            Text(name), Text(text, justify="right"), f"{old:.0f} s old" if old > _STALE else ""
        )
    wrong = [Text(f"! {what}") for what in shown.faults.values()]
    count = f"{shown.lines} lines, {shown.malformed} not understood, {shown.rate:.0f} a second"
    return Group(table, *wrong, Text(count))


@command.command()
@click.option("--fault", type=click.Choice(sorted(FAULTS)), default="none", show_default=True,
              help="What goes wrong.")  # fmt: skip
@click.option(
    "--seconds",
    default=60.0,
    show_default=True,
    type=click.FloatRange(min=0, max=24 * 3600, min_open=True),
    help="How long.",
)
@click.option("--rate", default=100.0, show_default=True, type=click.FloatRange(0.1, 100),
              help="Lines a second.")  # fmt: skip
@click.option("--shutdown", type=click.FloatRange(min=0),
              help="Close the fuel at this time (s).")  # fmt: skip
@click.option("--air", default=15.0, show_default=True, type=click.FloatRange(-40, 50),
              help="Degrees Celsius outside.")  # fmt: skip
@click.option("--seed", default=0, show_default=True, help="Of the sensors' noise.")
@click.option("--smooth", is_flag=True, help="Without noise.")
@click.option("--paced", is_flag=True, help="As if it happened now, not at once.")
def simulate(
    fault: str, seconds: float, rate: float, shutdown: float | None, air: float, seed: int,
    smooth: bool, paced: bool,
) -> None:  # fmt: skip
    """Print the gauges of an invented machine that is started, as CSV.

    For practice and tests; it is no model of any real machine.
    """
    from callout.cli.simulated import start
    from callout.gauges.feed.simulated import lines

    machine, plan = start(fault, shutdown=shutdown, celsius=air)
    began = time.monotonic()
    made = lines(machine, plan, seconds, rate=rate, seed=seed, noisy=not smooth)
    try:
        for line in made:
            if paced and line[0].isdigit():
                at = float(line.split(",", 1)[0])
                time.sleep(max(0.0, at - (time.monotonic() - began)))
            print(line, flush=paced)
        sys.stdout.flush()
    except BrokenPipeError:
        _give_up_output()
    except KeyboardInterrupt:
        pass
