"""`callout plot`: speed, temperature and events over time, with the limits shaded.

Rule of this file: it turns words into a picture's parts; gathering stands in
callout/running/pictures.py, drawing in callout/running/drawing.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK, SESSION
from callout.cli.simulated import FAULTS
from callout.logbook.places import Place, default_logbook

if TYPE_CHECKING:
    from callout.running.pictures import Picture


@click.command()
@click.argument("what")
@click.option(
    "--to",
    "file",
    type=click.Path(path_type=Path),
    default=Path("callout.svg"),
    show_default=True,
    help="The picture: a name that ends in .svg or .png.",
)
@click.option(
    "--aircraft",
    type=click.Path(path_type=Path),
    help="Whose limits are shaded; a session's own file if none is given.",
)
@click.option(
    "--gauge",
    "gauges",
    multiple=True,
    help="Which gauge, by its key; several times for several. Else speeds and temperatures.",
)
@click.option("--from", "began", type=float, help="Begin at this second.")
@click.option("--until", "ended", type=float, help="End at this second.")
@click.option("--logbook", type=LOGBOOK, help="The logbook, file or URL; your own if none.")
@click.option(
    "--fault",
    type=click.Choice(sorted(FAULTS)),
    default="none",
    show_default=True,
    help="With simulator: what goes wrong.",
)
@click.option(
    "--seconds",
    default=90.0,
    show_default=True,
    type=click.FloatRange(5, 7200),
    help="With simulator: how long.",
)
@click.option(
    "--state",
    default="any",
    show_default=True,
    help="With a recorded feed: the engine state whose limits are shaded.",
)
@click.option("--shutdown", type=click.FloatRange(min=0),
              help="With simulator: close the fuel at this second.")  # fmt: skip
def command(
    what: str, file: Path, aircraft: Path | None, gauges: tuple[str, ...], began: float | None,
    ended: float | None, logbook: Place | None, fault: str, seconds: float,
    state: str, shutdown: float | None,
) -> None:  # fmt: skip
    """Draw WHAT: the number of a session, `simulator`, or a recorded feed (FILE.csv).

    Red is a never-exceed limit, amber a caution.
    """
    from callout.running.drawing import draw
    from callout.running.pictures import chosen

    with say_errors():
        if what == "simulator":
            picture = _simulated(aircraft, fault, seconds, shutdown)
        elif what.isascii() and what.isdigit():
            picture = _session(logbook or default_logbook(), SESSION(what), aircraft)
        else:
            picture = _feed(Path(what), aircraft, state)
        curves = chosen(picture, gauges)
        first = 0.0 if began is None else began
        last = picture.ends if ended is None else ended
        if not first < last:
            raise click.UsageError(f"Nothing lies between second {first:g} and {last:g}.")
        draw(picture, curves, file, (first, last))
        click.echo(f"{file}: {', '.join(curve.gauge.call for curve in curves)}.", err=True)


def _session(path: Place, number: int, aircraft: Path | None) -> Picture:
    from callout.logbook.store import Logbook
    from callout.running.pictures import of_session

    with Logbook.read(path) as logbook, logbook.snapshot():
        return of_session(logbook, number, aircraft)


def _feed(file: Path, aircraft: Path | None, state: str) -> Picture:
    from callout.checklist.load import load
    from callout.running.pictures_feed import of_feed

    if aircraft is None:
        raise click.UsageError("A recorded feed needs --aircraft FILE.yaml, which has its gauges.")
    made = load(aircraft)
    known = {limit.state for gauge in made.gauges for limit in gauge.limits} | {"any"}
    if state not in known:
        names = ", ".join(sorted(known))
        raise click.UsageError(f"No limit holds in the state {state!r}; there are {names}.")
    return of_feed(file, made, state)


def _simulated(
    aircraft: Path | None, fault: str, seconds: float, shutdown: float | None
) -> Picture:
    from callout.checklist.load import load
    from callout.cli.simulated import start
    from callout.running.pictures_feed import of_simulator

    machine, plan = start(fault, shutdown=shutdown, celsius=15.0)
    return of_simulator(machine, plan, seconds, load(aircraft or _example()))


def _example() -> Path:
    """The example aircraft, beside the package or in the working directory."""
    for folder in (Path.cwd(), Path(__file__).resolve().parents[2]):
        if (found := folder / "checklists" / "reedlark.yaml").is_file():
            return found
    raise click.UsageError("No example aircraft is here; name one with --aircraft FILE.yaml.")
