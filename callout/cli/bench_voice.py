"""`callout bench calls` and `own-voice`: what callout says, heard by others and by itself.

Rule of this file: it reads options and prints; what is measured and how stands
in callout/benches/calls.py and echo.py.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.voice.choose import BUNDLED, VOICES

if TYPE_CHECKING:
    from callout.audio_block import AudioBlock
    from callout.benches.calls import CallFigures, Condition
    from callout.benches.echo import Echoed
    from callout.running.recording_sets import Clip

_EXISTING = click.Path(exists=True, dir_okay=False, path_type=Path)
_AIRCRAFT = click.argument("aircraft", type=click.Path(path_type=Path))
_NOISE = click.option("--noise", "noise", multiple=True, type=_EXISTING,
                      help="A set of noises (SET.json); may be given several times.")  # fmt: skip
_JSON = click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
_VOICE = click.option(
    "--voice", type=click.Choice([BUNDLED, *VOICES]), default=BUNDLED, show_default=True
)


class _Numbers(click.ParamType[tuple[float, ...]]):
    """Numbers with commas between them."""

    name = "N,N,..."

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, ...]:
        if isinstance(value, tuple):
            return value
        try:
            return tuple(float(word) for word in str(value).split(","))
        except ValueError:
            self.fail(f"{value!r} should be numbers like 10,5,0", param, ctx)


_NUMBERS = _Numbers()


@click.command("calls")
@_AIRCRAFT
@_NOISE
@click.option("--snr", "snrs", type=_NUMBERS, default="10,5,0", show_default=True,
              help="Decibels between callout's voice and the noise.")  # fmt: skip
@click.option("--takes", default=3, show_default=True, type=click.IntRange(1, 100),
              help="How often each call is heard in each condition, in other noise.")  # fmt: skip
@click.option("--worst", "most", default=10, show_default=True, help="List so many calls.")
@_VOICE
@_JSON
def calls(
    aircraft: Path, noise: Sequence[Path], snrs: tuple[float, ...], takes: int, most: int,
    voice: str, as_json: bool,
) -> None:  # fmt: skip
    """Which calls of AIRCRAFT are hard to understand in noise.

    Every title and prompt is said by callout's voice, mixed with noise and heard
    by PocketSphinx in a loop of all their words. It understands less than people
    do: compare calls with one another. For those at the head of the list choose
    longer or more different words. Without --noise only clean sound is measured.
    """
    from callout.benches import calls as measuring
    from callout.checklist.load import load

    with say_errors():
        said = measuring.spoken_calls(load(aircraft))
        noises = _sets(noise)
        sound = measuring.sounds(said, _clips(voice))
        conditions: tuple[float | None, ...] = (None, *snrs) if noises else (None,)
        length = len(said) * (1 + takes * (len(conditions) - 1))
        with click.progressbar(length=length, file=sys.stderr) as bar:
            heard = list(measuring.hear_calls(said, sound, noises, conditions, takes,
                                              lambda: bar.update(1)))  # fmt: skip
    for condition in measuring.conditions(heard):
        _print_condition(condition, as_json)
    for figures in measuring.worst((take for take in heard if take.snr is not None or not noises),
                                   most):  # fmt: skip
        _print_call(figures, as_json)


def _print_condition(condition: Condition, as_json: bool) -> None:
    snr = "clean" if condition.snr is None else condition.snr
    if as_json:
        click.echo(json.dumps({"snr": snr, "n": condition.takes, "whole": round(condition.whole, 4),
                               "words_wrong": round(condition.wrong, 4)}))  # fmt: skip
        return
    label = snr if isinstance(snr, str) else f"{snr:g} dB"
    click.echo(
        f"{label:>6}  {100 * condition.whole:5.1f} % of {condition.takes} calls heard whole, "
        f"{100 * condition.wrong:5.1f} % of words wrong"
    )


def _print_call(figures: CallFigures, as_json: bool) -> None:
    if as_json:
        click.echo(json.dumps({"call": figures.call, "words_wrong": round(figures.wrong, 4),
                               "heard": [text for text, _ in figures.heard]}))  # fmt: skip
        return
    heard = "; ".join(f'"{text}" ({count})' for text, count in figures.heard)
    click.echo(f"{100 * figures.wrong:5.0f} % of words wrong: {figures.call}")
    if heard:
        click.echo(f"        heard as {heard}")


@click.command("own-voice")
@_AIRCRAFT
@click.option("--level", "levels", type=_NUMBERS, default="0,-10,-20", show_default=True,
              help="Decibels between callout's echo and the pilot's speech.")  # fmt: skip
@click.option("--delay", "delays", type=_NUMBERS, default="20,50,100,200", show_default=True,
              help="Milliseconds from loudspeaker to microphone.")  # fmt: skip
@click.option("--pilot", "pilot", multiple=True, type=_EXISTING,
              help="A set of recordings (SET.json) to be spoken over the calls.")  # fmt: skip
@_NOISE
@click.option("--snr", default=10.0, show_default=True, help="Pilot above that noise (dB).")
@click.option("--ear", default="built-in", show_default=True)
@click.option("--unguarded", is_flag=True, help="Let the ear hear all of it, as with --headset.")
@click.option("--jobs", default=os.cpu_count() or 1, show_default="every core",
              type=click.IntRange(1, 64), help="Rooms measured at the same time.")  # fmt: skip
@_VOICE
@_JSON
def own_voice(
    aircraft: Path, levels: tuple[float, ...], delays: tuple[float, ...], pilot: Sequence[Path],
    noise: Sequence[Path], snr: float, ear: str, unguarded: bool, jobs: int, voice: str,
    as_json: bool,
) -> None:  # fmt: skip
    """Is a call of AIRCRAFT, caught by the microphone, ever taken for an answer.

    Every prompt is played through a loop in recording time: as it is, with its
    own right answer behind it, as the first of a session, when nothing is known of
    the room, and with devices whose delay is another in each half of each call. With
    --pilot one recording is spoken over each call, and one after each that is the first
    of a session, and it is counted how many are understood or asked for again.
    The table says how many ticked an item (and were heard as something else). The
    exit status is 1 when one was ticked.
    """
    from callout.benches.echo_grid import Wanted, grid
    from callout.benches.echo_room import loops
    from callout.checklist.load import load

    rows = []
    with say_errors():
        load(aircraft)
        _sets([*pilot, *noise])
        wanted = Wanted(
            aircraft, ear, voice, tuple(pilot), tuple(noise), snr, guarded=not unguarded
        )
        rooms = list(loops(levels, [delay / 1000 for delay in delays]))
        for name, echoed in grid(wanted, rooms, jobs):
            rows.append((name, echoed))
            if as_json:
                click.echo(_json_line(name, echoed))
            else:
                _print_wrong(name, echoed)
    if not as_json:
        _print_table(rows)
    sys.exit(1 if any(echoed.ticked for _, echoed in rows if not echoed.spoken) else 0)


def _json_line(name: str, row: Echoed) -> str:
    loop = row.loop
    return json.dumps({
        "way": name, "level_db": loop.level, "delay_ms": round(1000 * loop.delay),
        "calls": row.calls, "ticked": row.ticked, "other": row.other,
        "asked_again": row.asked_again, "spoken": row.spoken, "understood": row.understood,
        "passed_over": row.passed_over,
    })  # fmt: skip


def _print_wrong(name: str, row: Echoed) -> None:
    """What was heard that nobody said, as soon as it is known."""
    for call, words in (*row.ticked, *row.other):
        click.echo(
            f'{row.loop.level:g} dB, {1000 * row.loop.delay:.0f} ms, {name}: "{words}" '
            f"while saying: {call}"
        )


def _print_table(rows: Sequence[tuple[str, Echoed]]) -> None:
    """A row a room, a column a way: calls ticked (and heard as something else) of all."""
    from rich.console import Console
    from rich.table import Table

    names = list(dict.fromkeys(name for name, _ in rows))
    table = Table("echo dB", "late ms", *names)
    cells: dict[tuple[float, float], list[str]] = {}
    for _, row in rows:
        cell = f"{len(row.ticked)} (+{len(row.other)}) of {row.calls}"
        if row.spoken:
            cell = f"understood {row.understood} of {row.spoken}, wrong {len(row.ticked)}"
            cell += f", asked again {row.asked_again}, passed over {row.passed_over}"
        cells.setdefault((row.loop.level, row.loop.delay), []).append(cell)
    for (level, delay), row_cells in cells.items():
        table.add_row(f"{level:g}", f"{1000 * delay:.0f}", *row_cells)
    Console(width=None if sys.stdout.isatty() else 200).print(table)


def _sets(paths: Sequence[Path]) -> list[Clip]:
    from callout.running.recording_sets import SetError, read_set

    try:
        return [clip for path in paths for clip in read_set(path)]
    except SetError as problem:
        raise click.ClickException(str(problem)) from problem


def _clips(voice: str) -> Callable[[str], AudioBlock]:
    from callout.voice.choose import make_voice
    from callout.voice.clips import CLIP_RATE
    from callout.voice.shape import shaped

    made = make_voice(voice)
    return lambda text: shaped(made.synthesise(text), CLIP_RATE)
