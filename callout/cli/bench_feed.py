"""`callout bench feed`: how long a long, fast feed takes to replay.

Rule of this file: it reads options and prints; what is measured stands in
callout/benches/feed.py.
"""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

import click

from callout.cli.errors import say_errors


@click.command()
@click.argument("aircraft", type=click.Path(path_type=Path))
@click.option("--minutes", default=60.0, show_default=True, type=click.FloatRange(2, 600),
              help="How long the simulated feed is.")  # fmt: skip
@click.option("--rate", default=100.0, show_default=True, type=click.FloatRange(1, 100),
              help="Lines a second.")  # fmt: skip
@click.option("--feed", "file", type=click.Path(path_type=Path),
              help="Replay this recorded feed instead of a simulated one.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
def feed(aircraft: Path, minutes: float, rate: float, file: Path | None, as_json: bool) -> None:
    """A feed with the limits of AIRCRAFT, through engine and logbook, and only parsed."""
    from callout.benches.feed import make, measure
    from callout.checklist.load import load

    with say_errors(), tempfile.TemporaryDirectory() as folder:
        asked = load(aircraft)
        if file is None:
            file = Path(folder) / "feed.csv"
            make(file, minutes, rate)
        figures = measure(file, asked, Path(folder) / "log.db")
    each = 1e6 / figures.lines
    if as_json:
        said = {
            "lines": figures.lines,
            "seconds": round(figures.whole, 3),
            "processor_seconds": round(figures.processor, 3),
            "us_per_line": round(figures.whole * each, 2),
            "times_parsing": round(figures.whole / figures.parsing, 2),
            "parsing_us_per_line": round(figures.parsing * each, 2),
            "judging_us_per_line": round(figures.judging * each, 2),
            "readings": figures.readings,
            "engine_us_per_reading": round(
                1e6 * (figures.whole - figures.judging) / max(1, figures.readings), 2
            ),
            "logbook_megabytes": round(figures.megabytes, 2),
        }
        click.echo(json.dumps(said))
        return
    click.echo(
        f"{figures.lines} lines in {figures.whole:.1f} s "
        f"({figures.processor:.1f} s of the processor), {figures.whole * each:.1f} us a line: "
        f"{figures.whole / figures.parsing:.1f} times parsing them ({figures.parsing * each:.1f} "
        f"us); parsed and judged {figures.judging * each:.1f} us. {figures.readings} readings "
        f"were given to the engine. The logbook has {figures.megabytes:.1f} MB."
    )
