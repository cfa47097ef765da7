"""`callout bench answers`, `first-word` and `grammars`: an ear at the items of a real checklist.

Rule of this file: it reads options and prints; what is measured and how stands
in callout/benches/answers.py, first_word.py and grammars.py.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.bench_options import (
    CERTAINTY,
    COMMON,
    EXISTING,
    MOST,
    SNR,
    example,
    need_noise,
    open_ear,
    sets,
    texts_of,
    with_options,
)

if TYPE_CHECKING:
    from callout.benches.answers import Wanted
    from callout.benches.figures import Outcome
    from callout.benches.first_word import Placed
    from callout.running.asked import Kind
    from callout.running.recording_sets import Clip

_AIRCRAFT = click.argument("aircraft", required=False, type=EXISTING)
_MOST_SHOWN = 12


@click.command()
@_AIRCRAFT
@with_options(*COMMON, SNR)
def answers(
    aircraft: Path | None, ears: Sequence[str], speech: Sequence[Path], noise: Sequence[Path],
    as_json: bool, snrs: tuple[float | None, ...],
) -> None:  # fmt: skip
    """Every answer of AIRCRAFT's items, with what counts at its own item.

    AIRCRAFT is a file; the example if none is given. Recordings are chosen by
    their text; answers without one are counted and left out.
    """
    from callout.benches import answers as measuring
    from callout.benches.hearing import Meter
    from callout.checklist.load import load

    clips, noises = sets(speech), sets(noise)
    need_noise(snrs, noises)
    asked = measuring.wanted(load(aircraft or example()))
    presented = sum(len(_of(clips, answer)) for answer in asked) * len(snrs)
    if not presented:
        raise click.UsageError("None of the recordings has an answer of the aircraft as its text.")
    for name in ears:
        ear = open_ear(name)
        meter = Meter()
        try:
            with click.progressbar(length=presented, file=sys.stderr) as bar:
                heard = list(
                    measuring.hear_answers(
                        ear, asked, clips, noises, snrs, meter, lambda _: bar.update(1)
                    )
                )
        finally:
            ear.close()
        for snr in snrs:
            mine = [pair for pair in heard if pair[1].snr == snr]
            _print_answers(mine, meter.share(ear.name), as_json)
    left_out = measuring.missing(asked, clips)
    if left_out and not as_json:
        click.echo(f"{len(left_out)} answers have no recording: {', '.join(left_out)}")


def _of(clips: Sequence[Clip], answer: Wanted) -> list[Clip]:
    from callout.words.understand import plain

    return [clip for clip in clips if plain(clip.text) == answer.text]


def _print_answers(heard: Sequence[tuple[Kind, Outcome]], compute: float, as_json: bool) -> None:
    from callout.benches.answers import counted
    from callout.benches.figures import figures

    row = figures([one for _, one in heard])
    kinds = counted(heard)
    snr = "clean" if row.snr is None else row.snr
    if as_json:
        said = {
            "ear": row.ear, "snr": snr, "n": row.n, "correct": row.correct,
            "rejected": row.rejected, "wrong": row.wrong, "low": round(row.low, 4),
            "high": round(row.high, 4), "nearest": row.nearest,
            "kinds": {kind.value: list(pair) for kind, pair in kinds.items()},
            "confusions": [[a, b, n] for (a, b), n in row.confusions],
            "compute": round(compute, 5), "waited": row.waited,
        }  # fmt: skip
        click.echo(json.dumps(said))
        return
    click.echo(
        f"{row.ear:13} {snr:>6}  {100 * row.correct / row.n:5.1f} % right "
        f"({100 * row.low:.1f} to {100 * row.high:.1f}) of {row.n}; "
        f"{row.rejected} refused, {row.wrong} wrong; nearest right {row.nearest}"
    )
    parts = (f"{k.value} {100 * hits / n:.1f} % of {n}" for k, (hits, n) in kinds.items())
    click.echo(f"{'':20}  {', '.join(parts)}; processor {100 * compute:.2f} %")
    if row.confusions:
        pairs = (f"{a} as {b} ({n})" for (a, b), n in row.confusions[:_MOST_SHOWN])
        click.echo(f"{'':20}  mistaken: {', '.join(pairs)}")


@click.command("first-word")
@with_options(*COMMON, SNR, MOST, CERTAINTY)
@click.option("--phrases", default="auto", show_default=True,
              help="What counts: `auto` for all texts of the set, or a file of lines.")  # fmt: skip
@click.option("--silence", default=15.0, show_default=True,
              help="Seconds of noise alone before the first word.")  # fmt: skip
def first_word(
    ears: Sequence[str], speech: Sequence[Path], noise: Sequence[Path], as_json: bool,
    snrs: tuple[float | None, ...], most: int, certainty: float, phrases: str, silence: float,
) -> None:  # fmt: skip
    """The first word after a long silence against later words, on the same recordings."""
    from callout.benches import first_word as measuring
    from callout.benches.hearing import Meter, closed_set
    from callout.running.recording_sets import one_in

    clips, noises = sets(speech), sets(noise)
    need_noise(snrs, noises)
    grammar = closed_set(texts_of(phrases, [c.text for c in clips if c.text]), certainty)
    counts = {phrase.text for phrase in grammar.phrases}
    chosen = one_in([clip for clip in clips if clip.text in counts], most)
    if len(chosen) < measuring.PLACES:
        raise click.UsageError("Too few of the recordings have one of the phrases as their text.")
    for name in ears:
        ear = open_ear(name)
        try:
            for snr in snrs:
                with click.progressbar(length=len(chosen), file=sys.stderr) as bar:
                    heard = list(
                        measuring.hear_in_places(
                            ear, chosen, noises, grammar, snr, silence, certainty, Meter(),
                            lambda _: bar.update(1),
                        )
                    )  # fmt: skip
                _print_places(heard, silence, as_json)
        finally:
            ear.close()


def _print_places(heard: Sequence[Placed], silence: float, as_json: bool) -> None:
    from callout.benches.figures import figures

    for place in sorted({one.place for one in heard}):
        row = figures([one.outcome for one in heard if one.place == place])
        snr = "clean" if row.snr is None else row.snr
        if as_json:
            said = {"ear": row.ear, "snr": snr, "word": place + 1, "silence": silence, "n": row.n,
                    "correct": row.correct, "rejected": row.rejected, "wrong": row.wrong,
                    "low": round(row.low, 4), "high": round(row.high, 4)}  # fmt: skip
            click.echo(json.dumps(said))
            continue
        which = f"word {place + 1}" if place else f"first word after {silence:g} s"
        click.echo(
            f"{row.ear:13} {snr:>6}  {which:24} {100 * row.correct / row.n:5.1f} % right "
            f"({100 * row.low:.1f} to {100 * row.high:.1f}) of {row.n}; "
            f"{row.rejected} refused, {row.wrong} wrong"
        )


@click.command()
@_AIRCRAFT
@click.option("--ear", "ears", multiple=True, default=("built-in",), show_default=True)
@click.option("--rounds", default=5, show_default=True, type=click.IntRange(1, 1000),
              help="How often every item of the aircraft is changed to.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
def grammars(aircraft: Path | None, ears: Sequence[str], rounds: int, as_json: bool) -> None:
    """How long a change to what counts at the next item of AIRCRAFT takes."""
    from callout.benches.grammars import switches
    from callout.checklist.load import load

    asked = load(aircraft or example())
    for name in ears:
        ear = open_ear(name)
        try:
            row = switches(ear, asked, rounds)
        finally:
            ear.close()
        if as_json:
            said = {"ear": row.ear, "n": row.n, "median": row.median, "worst": row.worst,
                    "worst_processor": row.worst_processor, "ready": row.ready}  # fmt: skip
            click.echo(json.dumps(said))
            continue
        click.echo(
            f"{row.ear:13} {row.n} changes: median {1000 * row.median:.1f} ms, worst "
            f"{1000 * row.worst:.1f} ms (of the processor's time {1000 * row.worst_processor:.1f} "
            f"ms); made ready in {row.ready:.1f} s"
        )
