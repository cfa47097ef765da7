"""`callout bench all`: every figure on one page, measured in one run.

Rule of this file: it reads options and prints; what is run stands in
callout/benches/all_benches*.py.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from pathlib import Path

import click

from callout.cli.bench_options import EXISTING, example


@click.command("all")
@click.option("--aircraft", type=EXISTING, default=None, help="Whose lists; the example if none.")
@click.option("--sets", type=click.Path(exists=True, file_okay=False, path_type=Path),
              help="Folder of the sets of recordings that models/README.md names; without them "
                   "the few of tests/ear/recordings are heard.")  # fmt: skip
@click.option("--only", multiple=True, metavar="PART", help="Only this part; may be repeated.")
@click.option("--quick", is_flag=True, help="Fewer of everything: minutes instead of hours.")
@click.option("--jobs", type=click.IntRange(1, 64), default=os.cpu_count() or 1,
              show_default="every core", help="So many at once, but for timed parts.")  # fmt: skip
@click.option("--minutes", type=click.FloatRange(0.01, 10000),
              help="Stop after so many minutes of the clock; what was measured until then is "
                   "shown and kept, as after Ctrl-C.")  # fmt: skip
@click.option("--keep", type=click.Path(file_okay=False, path_type=Path),
              help="Folder in which DATE.html and DATE.json are kept.")  # fmt: skip
def all_(
    aircraft: Path | None, sets: Path | None, only: Sequence[str], quick: bool, jobs: int,
    minutes: float | None, keep: Path | None,
) -> None:  # fmt: skip
    """Every figure that the README has, and more, on one page.

    Ears are measured beside PocketSphinx, and beside Vosk where a model is installed.
    Nothing else should run meanwhile: times are part of it.
    """
    from rich.console import Console

    from callout.benches import all_benches as bench_all
    from callout.benches.all_page import html, show
    from callout.benches.all_parts import TEN, Given, parts
    from callout.ear.models import installed, models_folder

    with tempfile.TemporaryDirectory() as folder:
        phrases = Path(folder) / "ten.txt"
        phrases.write_text("\n".join(TEN) + "\n", encoding="utf-8")
        vosk = bool(installed(models_folder()))
        known = parts(Given((aircraft or example()).resolve(), phrases, sets, vosk, quick))
        names = [part.name for part in known]
        for name in only:
            if name not in names:
                raise click.UsageError(f"There is no part {name!r}; there are {', '.join(names)}.")
        chosen = [part for part in known if not only or part.name in only]
        page = bench_all.measure(
            chosen, quick=quick, jobs=jobs, minutes=minutes,
            told=lambda text: click.echo(text, err=True),
        )  # fmt: skip
    console = Console()
    show(page, console if console.is_terminal else Console(width=160))
    if keep is not None:
        keep.mkdir(parents=True, exist_ok=True)
        name = page.at[:10] + ("-quick" if quick else "")
        (keep / f"{name}.html").write_text(html(page), encoding="utf-8")
        (keep / f"{name}.json").write_text(page.as_json(), encoding="utf-8")
        click.echo(f"Kept as {keep / name}.html and .json.")
