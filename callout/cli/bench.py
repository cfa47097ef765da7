"""`callout bench`: measure ears on recordings, all in one run.

Rule of this file: it reads options and prints; what is measured and how stands
in callout/running/bench_*.py.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from callout.ear.protocol import Ear
    from callout.running.bench_false_accepts import FalseAccepts
    from callout.running.bench_figures import Figures, Outcome
    from callout.running.bench_hearing import Setting
    from callout.running.bench_sets import Clip

Command = TypeVar("Command", bound=Callable[..., Any])

_MOST_PAIRS = 8


@click.group()
def command() -> None:
    """Measure what ears understand, on recordings on this disk.

    A set is NAME.json with NAME.ogg beside it: 16 kHz mono, one recording
    after another; the list gives text, samples and speaker of each.
    """


class _Conditions(click.ParamType[tuple[float | None, ...]]):
    """Signal-to-noise ratios: numbers in dB, and `clean`."""

    name = "dB,dB,..."

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float | None, ...]:
        if isinstance(value, tuple):
            return value
        text = str(value)
        try:
            return tuple(
                None if word.strip() == "clean" else float(word) for word in text.split(",")
            )
        except ValueError:
            self.fail(f"{value!r} should be like clean,20,10,5,0,-5", param, ctx)


_EXISTING = click.Path(exists=True, dir_okay=False, path_type=Path)
_OPTIONS = (
    click.option("--ear", "ears", multiple=True, default=("built-in",), show_default=True,
                 help="Which ear; give it several times to compare."),
    click.option("--speech", "speech", multiple=True, required=True, type=_EXISTING,
                 help="A set of recordings (SET.json); may be given several times."),
    click.option("--noise", "noise", multiple=True, type=_EXISTING,
                 help="A set of noises (SET.json); may be given several times."),
    click.option("--json", "as_json", is_flag=True, help="One JSON object a line."),
)  # fmt: skip
_SNR = click.option(
    "--snr", "snrs", type=_Conditions(), default="clean", show_default=True,
    help="Conditions: dB between speech and noise, or clean.",
)  # fmt: skip
_MOST = click.option(
    "--most", default=0, show_default=True, help="Hear at most so many recordings (0: all)."
)
_CERTAINTY = click.option(
    "--certainty", default=0.0, show_default=True, type=click.FloatRange(0, 1),
    help="What is asked of an answer: 0 is a closed set, in which the nearest is taken; "
         "0.5 is what a session asks of ordinary items, 0.7 of killer items.",
)  # fmt: skip


def _with(*options: Callable[[Command], Command]) -> Callable[[Command], Command]:
    def add(function: Command) -> Command:
        for option in reversed(options):
            function = option(function)
        return function

    return add


@command.command()
@_with(*_OPTIONS, _SNR, _MOST, _CERTAINTY)
@click.option("--phrases", default="auto", show_default=True,
              help="What counts: `auto` for all texts of the set, or a file with one a line; "
                   "recordings of other texts are then left out.")  # fmt: skip
@click.option("--lead-in", default=0.5, show_default=True, help="Seconds of noise before a word.")
def hearing(
    ears: Sequence[str], speech: Sequence[Path], noise: Sequence[Path], as_json: bool,
    snrs: tuple[float | None, ...], most: int, certainty: float, phrases: str, lead_in: float,
) -> None:  # fmt: skip
    """Words and phrases: right, refused and wrong, by signal-to-noise ratio."""
    from callout.running.bench_hearing import Setting, closed_set, hear_all
    from callout.running.bench_sets import one_in

    clips, noises = _sets(speech), _sets(noise)
    _need_noise(snrs, noises)
    texts = _texts(phrases, [clip.text for clip in clips if clip.text])
    grammar = closed_set(texts, certainty)
    wanted = {phrase.text for phrase in grammar.phrases}
    chosen = one_in([clip for clip in clips if clip.text in wanted], most)
    if not chosen:
        raise click.UsageError("None of the recordings has one of the phrases as its text.")
    setting = Setting(snrs, lead_in, certainty=certainty)
    _measure(ears, chosen, as_json, setting, lambda *told: hear_all(
        told[0], chosen, noises, grammar, setting, *told[1:]))  # fmt: skip


@command.command()
@_with(*_OPTIONS, _SNR, _CERTAINTY)
@click.option("--numbers", "count", default=200, show_default=True, help="How many numbers.")
def digits(
    ears: Sequence[str], speech: Sequence[Path], noise: Sequence[Path], as_json: bool,
    snrs: tuple[float | None, ...], certainty: float, count: int,
) -> None:  # fmt: skip
    """Connected numbers of two to four digits, right only as a whole."""
    from callout.running.bench_digits import number_grammar, numbers
    from callout.running.bench_hearing import Setting, hear_all

    noises = _sets(noise)
    _need_noise(snrs, noises)
    clips = numbers(_sets(speech), count)
    if not clips:
        raise click.UsageError(
            "The set holds no spoken numbers, and no speaker with four single digits to join."
        )
    setting = Setting(snrs, certainty=certainty)
    grammar = number_grammar(certainty)
    _measure(ears, clips, as_json, setting, lambda *told: hear_all(
        told[0], clips, noises, grammar, setting, *told[1:]))  # fmt: skip


@command.command("false-accepts")
@_with(*_OPTIONS)
@click.option("--aircraft", type=_EXISTING, default=None,
              help="Whose items are asked; the example aircraft if none is given.")  # fmt: skip
@click.option("--snr", type=_Conditions(), default="10", show_default=True,
              help="dB between talk and the noise under it, or clean.")  # fmt: skip
def false_accepts(
    ears: Sequence[str], speech: Sequence[Path], noise: Sequence[Path], as_json: bool,
    aircraft: Path | None, snr: tuple[float | None, ...],
) -> None:  # fmt: skip
    """Ticks an hour by talk and noise that were meant for nobody."""
    from callout.checklist.load import load
    from callout.running import bench_false_accepts as measuring

    talk, noises = _sets(speech), _sets(noise)
    asked = load(aircraft or _example())
    for name in ears:
        ear = _open(name)
        try:
            for row in measuring.false_accepts(ear, asked, talk, noises, snr[0]):
                _print_false(row, as_json)
        finally:
            ear.close()


def _print_false(row: FalseAccepts, as_json: bool) -> None:
    if as_json:
        said = {"ear": row.ear, "kind": row.kind.value, "hours": round(row.hours, 4),
                "count": row.count, "other": row.other, "what": row.what}  # fmt: skip
        click.echo(json.dumps(said))
        return
    rate = row.count / row.hours
    click.echo(
        f"{row.ear}, {row.kind.value} items: {row.count} wrong ticks in {row.hours:.2f} h "
        f"({rate:.2f} an hour), {row.other} other words"
        + (f"; ticked by: {', '.join(row.what)}" if row.what else "")
    )


def _measure(
    names: Sequence[str], clips: Sequence[Clip], as_json: bool, setting: Setting,
    hear: Callable[..., Any],
) -> None:  # fmt: skip
    """Run the measurement and print a row for each condition and ear."""
    from callout.running.bench_hearing import Meter

    meter = Meter()
    ears = [_open(name) for name in names]
    try:
        with click.progressbar(length=len(clips) * len(setting.snrs), file=sys.stderr) as bar:
            outcomes = list(hear(ears, meter, lambda _: bar.update(1)))
    finally:
        for ear in ears:
            ear.close()
    for snr in setting.snrs:
        for ear in ears:
            rows = [o for o in outcomes if o.ear == ear.name and o.snr == snr]
            _print_row(rows, meter.share(ear.name), as_json)


def _print_row(rows: Sequence[Outcome], compute: float, as_json: bool) -> None:
    from callout.running.bench_figures import figures

    row = figures(rows)
    snr: float | str = "clean" if row.snr is None else row.snr
    if as_json:
        click.echo(json.dumps(_as_json(row, snr, compute)))
        return
    label = snr if isinstance(snr, str) else f"{snr:g} dB"
    click.echo(
        f"{row.ear:13} {label:>6}  {100 * row.correct / row.n:5.1f} % right "
        f"({100 * row.low:.1f} to {100 * row.high:.1f}) of {row.n}; "
        f"{row.rejected} refused, {row.wrong} wrong; nearest text right {row.nearest}"
    )
    worst, tenth, median = (100 * share for share in row.speakers)
    waited = "" if row.waited is None else f"; decided {1000 * row.waited:.0f} ms after the word"
    click.echo(
        f"{'':20}  speakers: worst {worst:.0f} %, lowest tenth {tenth:.0f} %, "
        f"median {median:.0f} %; processor {100 * compute:.2f} %{waited}"
    )
    if row.confusions:
        pairs = (f"{a} as {b} ({n})" for (a, b), n in row.confusions[:_MOST_PAIRS])
        click.echo(f"{'':20}  mistaken: {', '.join(pairs)}")


def _as_json(row: Figures, snr: float | str, compute: float) -> dict[str, Any]:
    return {
        "ear": row.ear, "snr": snr, "n": row.n, "correct": row.correct,
        "rejected": row.rejected, "wrong": row.wrong,
        "low": round(row.low, 4), "high": round(row.high, 4), "nearest": row.nearest,
        "speakers": {"worst": row.speakers[0], "tenth": row.speakers[1],
                     "median": row.speakers[2]},
        "confusions": [[a, b, n] for (a, b), n in row.confusions],
        "compute": round(compute, 5), "waited": row.waited,
    }  # fmt: skip


def _sets(paths: Sequence[Path]) -> list[Clip]:
    """All recordings of some sets; places go on from set to set."""
    from dataclasses import replace

    from callout.running.bench_sets import SetError, read_set

    try:
        clips = [clip for path in paths for clip in read_set(path)]
    except SetError as problem:
        raise click.ClickException(str(problem)) from problem
    return [replace(clip, place=place) for place, clip in enumerate(clips)]


def _need_noise(snrs: Sequence[float | None], noises: Sequence[Clip]) -> None:
    if not noises and any(snr is not None for snr in snrs):
        raise click.UsageError("--snr with a number needs --noise SET.json.")


def _texts(phrases: str, all_texts: Sequence[str]) -> list[str]:
    if phrases == "auto":
        return list(all_texts)
    path = Path(phrases)
    if not path.is_file():
        raise click.UsageError(f"--phrases is neither `auto` nor a file: {phrases}")
    return path.read_text(encoding="utf-8").splitlines()


def _example() -> Path:
    """The example aircraft, beside the package or in the working directory."""
    for folder in (Path.cwd(), Path(__file__).resolve().parents[2]):
        found = sorted((folder / "checklists").glob("*.yaml"))
        if found:
            return max(found, key=lambda path: path.stat().st_size)
    raise click.UsageError("No example aircraft is here; name one with --aircraft FILE.yaml.")


def _open(name: str) -> Ear:
    from callout.ear.choose import make_ear
    from callout.ear.problems import EarProblem

    try:
        return make_ear(name)
    except EarProblem as problem:
        raise click.ClickException(str(problem)) from problem
