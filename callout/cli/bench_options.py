"""What the benches of ears have in common: their options, and how those are read.

Rule of this file: options in, sets, texts and ears out, or a sentence for people.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from callout.ear.protocol import Ear
    from callout.running.recording_sets import Clip

Command = TypeVar("Command", bound=Callable[..., Any])


class Conditions(click.ParamType[tuple[float | None, ...]]):
    """Signal-to-noise ratios: numbers in dB, and `clean`."""

    name = "dB,dB,..."

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float | None, ...]:
        """Read one or more of them."""
        if isinstance(value, tuple):
            return value
        text = str(value)
        try:
            return tuple(
                None if word.strip() == "clean" else float(word) for word in text.split(",")
            )
        except ValueError:
            self.fail(f"{value!r} should be like clean,20,10,5,0,-5", param, ctx)


EXISTING = click.Path(exists=True, dir_okay=False, path_type=Path)
COMMON = (
    click.option("--ear", "ears", multiple=True, default=("built-in",), show_default=True,
                 help="Which ear; give it several times to compare."),
    click.option("--speech", "speech", multiple=True, required=True, type=EXISTING,
                 help="A set of recordings (SET.json); may be given several times."),
    click.option("--noise", "noise", multiple=True, type=EXISTING,
                 help="A set of noises (SET.json); may be given several times."),
    click.option("--json", "as_json", is_flag=True, help="One JSON object a line."),
)  # fmt: skip
SNR = click.option(
    "--snr", "snrs", type=Conditions(), default="clean", show_default=True,
    help="Conditions: dB between speech and noise, or clean.",
)  # fmt: skip
MOST = click.option(
    "--most", default=0, show_default=True, help="Hear at most so many recordings (0: all)."
)
CERTAINTY = click.option(
    "--certainty", default=0.0, show_default=True, type=click.FloatRange(0, 1),
    help="What is asked of an answer: 0 is a closed set, in which the nearest is taken; "
         "0.5 is what a session asks of ordinary items, 0.7 of killer items.",
)  # fmt: skip


def with_options(*options: Callable[[Command], Command]) -> Callable[[Command], Command]:
    """Add options to a command, the first of them first in its help."""

    def add(function: Command) -> Command:
        for option in reversed(options):
            function = option(function)
        return function

    return add


def sets(paths: Sequence[Path]) -> list[Clip]:
    """All recordings of some sets; places go on from set to set."""
    from dataclasses import replace

    from callout.running.recording_sets import SetError, read_set

    try:
        clips = [clip for path in paths for clip in read_set(path)]
    except SetError as problem:
        raise click.ClickException(str(problem)) from problem
    return [replace(clip, place=place) for place, clip in enumerate(clips)]


def need_noise(snrs: Sequence[float | None], noises: Sequence[Clip]) -> None:
    """Refuse a ratio to noise where no noise was given."""
    if not noises and any(snr is not None for snr in snrs):
        raise click.UsageError("--snr with a number needs --noise SET.json.")


def texts_of(phrases: str, all_texts: Sequence[str]) -> list[str]:
    """Return what counts: all texts, or the lines of a file."""
    if phrases == "auto":
        return list(all_texts)
    path = Path(phrases)
    if not path.is_file():
        raise click.UsageError(f"--phrases is neither `auto` nor a file: {phrases}")
    return path.read_text(encoding="utf-8").splitlines()


def example() -> Path:
    """The example aircraft, beside the package or in the working directory."""
    for folder in (Path.cwd(), Path(__file__).resolve().parents[2]):
        found = sorted((folder / "checklists").glob("*.yaml"))
        if found:
            return max(found, key=lambda path: path.stat().st_size)
    raise click.UsageError("No example aircraft is here; name one with --aircraft FILE.yaml.")


def open_ear(name: str) -> Ear:
    """Return an ear by its name, or say why it cannot be had."""
    from callout.ear.choose import make_ear
    from callout.ear.problems import EarProblem

    try:
        return make_ear(name)
    except EarProblem as problem:
        raise click.ClickException(str(problem)) from problem
