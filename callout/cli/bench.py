"""`callout bench`: measure ears on recordings, all in one run.

Rule of this file: it reads options and prints; what is measured and how stands
in callout/benches/.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from callout.cli.bench_all import all_
from callout.cli.bench_ear import answers, first_word, grammars
from callout.cli.bench_feed import feed
from callout.cli.bench_limits import limits
from callout.cli.bench_logbook import logbook
from callout.cli.bench_options import (
    CERTAINTY,
    COMMON,
    EXISTING,
    MOST,
    SNR,
    Conditions,
    example,
    need_noise,
    open_ear,
    sets,
    texts_of,
    with_options,
)
from callout.cli.bench_soak import soak
from callout.cli.bench_starts import starts
from callout.cli.bench_train import train
from callout.cli.bench_turn import turn
from callout.cli.bench_voice import calls, own_voice

if TYPE_CHECKING:
    from callout.benches.false_accepts import FalseAccepts
    from callout.benches.figures import Figures, Outcome
    from callout.benches.hearing import Setting
    from callout.running.recording_sets import Clip

_MOST_PAIRS = 8


@click.group()
def command() -> None:
    """Measure what ears understand, on recordings on this disk.

    A set is NAME.json with NAME.ogg beside it: 16 kHz mono, one recording
    after another; the list gives text, samples and speaker of each.
    """


command.add_command(all_)
command.add_command(answers)
command.add_command(first_word)
command.add_command(grammars)
command.add_command(calls)
command.add_command(feed)
command.add_command(limits)
command.add_command(logbook)
command.add_command(own_voice)
command.add_command(train)
command.add_command(soak)
command.add_command(starts)
command.add_command(turn)


@command.command()
@with_options(*COMMON, SNR, MOST, CERTAINTY)
@click.option("--phrases", default="auto", show_default=True,
              help="What counts: `auto` for all texts of the set, or a file with one a line; "
                   "recordings of other texts are then left out.")  # fmt: skip
@click.option("--lead-in", default=0.5, show_default=True, help="Seconds of noise before a word.")
@click.option(
    "--level",
    type=click.Choice(("active", "whole")),
    default="active",
    show_default=True,
    help="Whose power is the speech's: of its active parts, as "
    "ITU-T P.56 has it, or of the whole recording, the silence in it included.",
)
def hearing(
    ears: Sequence[str], speech: Sequence[Path], noise: Sequence[Path], as_json: bool,
    snrs: tuple[float | None, ...], most: int, certainty: float, phrases: str, lead_in: float,
    level: str,
) -> None:  # fmt: skip
    """Words and phrases: right, refused and wrong, by signal-to-noise ratio."""
    from callout.benches.hearing import Setting, closed_set, hear_all
    from callout.running.recording_sets import one_in

    clips, noises = sets(speech), sets(noise)
    need_noise(snrs, noises)
    texts = texts_of(phrases, [clip.text for clip in clips if clip.text])
    grammar = closed_set(texts, certainty)
    wanted = {phrase.text for phrase in grammar.phrases}
    chosen = one_in([clip for clip in clips if clip.text in wanted], most)
    if not chosen:
        raise click.UsageError("None of the recordings has one of the phrases as its text.")
    setting = Setting(snrs, lead_in, certainty=certainty, whole=level == "whole")
    _measure(ears, chosen, as_json, setting, lambda *told: hear_all(
        told[0], chosen, noises, grammar, setting, *told[1:]))  # fmt: skip


@command.command()
@with_options(*COMMON, SNR, CERTAINTY)
@click.option("--numbers", "count", default=200, show_default=True, help="How many numbers.")
def digits(
    ears: Sequence[str], speech: Sequence[Path], noise: Sequence[Path], as_json: bool,
    snrs: tuple[float | None, ...], certainty: float, count: int,
) -> None:  # fmt: skip
    """Connected numbers of two to four digits, right only as a whole."""
    from callout.benches.digits import number_grammar, numbers
    from callout.benches.hearing import Setting, hear_all

    noises = sets(noise)
    need_noise(snrs, noises)
    clips = numbers(sets(speech), count)
    if not clips:
        raise click.UsageError(
            "The set holds no spoken numbers, and no speaker with four single digits to join."
        )
    setting = Setting(snrs, certainty=certainty)
    grammar = number_grammar(certainty)
    _measure(ears, clips, as_json, setting, lambda *told: hear_all(
        told[0], clips, noises, grammar, setting, *told[1:]))  # fmt: skip


@command.command("false-accepts")
@with_options(*COMMON)
@click.option("--aircraft", type=EXISTING, default=None,
              help="Whose items are asked; the example aircraft if none is given.")  # fmt: skip
@click.option("--snr", "snrs", type=Conditions(), default="10", show_default=True,
              help="dB between talk and the noise under it, or clean; with --hours each time the "
                   "next of them.")  # fmt: skip
@click.option("--hours", default=0.0, show_default=True, type=click.FloatRange(0),
              help="Hear everything again, with other noise, in another order and at other items, "
                   "until it was so long for each kind of item.")  # fmt: skip
def false_accepts(
    ears: Sequence[str], speech: Sequence[Path], noise: Sequence[Path], as_json: bool,
    aircraft: Path | None, snrs: tuple[float | None, ...], hours: float,
) -> None:  # fmt: skip
    """Ticks an hour by talk and noise that were meant for nobody."""
    from callout.benches import false_accepts as measuring
    from callout.checklist.load import load

    talk, noises = sets(speech), sets(noise)
    asked = load(aircraft or example())
    for name in ears:
        ear = open_ear(name)
        try:
            for row in measuring.false_accepts(ear, asked, talk, noises, snrs, hours):
                _print_false(row, as_json)
        finally:
            ear.close()


def _print_false(row: FalseAccepts, as_json: bool) -> None:
    if as_json:
        said = {"ear": row.ear, "kind": row.kind.value, "hours": round(row.hours, 4),
                "count": row.count, "other": row.other, "what": row.what,
                "times": row.times}  # fmt: skip
        click.echo(json.dumps(said))
        return
    rate = row.count / row.hours
    click.echo(
        f"{row.ear}, {row.kind.value} items: {row.count} wrong ticks in {row.hours:.2f} h "
        f"({rate:.2f} an hour), {row.other} other words"
        + (f"; the same talk {row.times} times, each with other noise" if row.times > 1 else "")
        + (f"; ticked by: {', '.join(row.what)}" if row.what else "")
    )


def _measure(
    names: Sequence[str], clips: Sequence[Clip], as_json: bool, setting: Setting,
    hear: Callable[..., Any],
) -> None:  # fmt: skip
    """Run the measurement and print a row for each condition and ear."""
    from callout.benches.hearing import Meter

    meter = Meter()
    ears = [open_ear(name) for name in names]
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
    from callout.benches.figures import figures

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
