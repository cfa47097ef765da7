"""`callout doctor levels`: is speech far enough above the noise, and what to do if not.

Rule of this file: it reads options and prints; what is measured and what
follows stands in callout/running/levels.py.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.voice.choose import BUNDLED, VOICES

if TYPE_CHECKING:
    from callout.running.levels import Levels

_FILE = click.Path(path_type=Path, dir_okay=False)


@click.command("levels")
@click.option("--listen", default="", help="Words of the microphone's name; the system's if none.")
@click.option("--speak", default="", help="Words of the loudspeaker's name; the system's if none.")
@click.option("--voice", type=click.Choice([BUNDLED, *VOICES]), default=BUNDLED, show_default=True)
@click.option("--gain", type=click.IntRange(-12, 9), default=0, show_default=True,
              help="Decibels louder or softer, as to be given to callout run.")  # fmt: skip
@click.option("--pilot", is_flag=True, help="Measure your own voice instead of callout's.")
@click.option("--noise", type=_FILE, help="A recording of the noise alone, instead of devices.")
@click.option("--speech", type=_FILE, help="A recording of speech in that noise, as long as it.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def levels(
    listen: str, speak: str, voice: str, gain: int, pilot: bool,
    noise: Path | None, speech: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Measure how far speech stands above the noise of the place, octave by octave.

    callout listens to the place, then speaks a sentence through the loudspeaker
    and listens to that. MIL-STD-1472E asks of audio warnings 20 dB above the
    noise in at least one octave from 200 to 5000 Hz. Measure where you will
    work, in the noise that will be there, with the microphone as you will wear
    it. How loud it is at your ear cannot be measured this way: begin low.

    The exit status is 0 when the speech stands far enough above the noise,
    1 when not.
    """
    if (noise is None) != (speech is None):
        raise click.UsageError("--noise and --speech belong together.")
    from callout.running import measure_levels
    from callout.running.levels import Whose
    from callout.running.quiet import quiet_libraries

    def told(line: str) -> None:
        click.echo(line, err=True)

    with say_errors():
        if noise is not None and speech is not None:
            whose = Whose.PILOT if pilot else Whose.CALLOUT
            found = measure_levels.from_recordings(noise, speech, whose)
        else:
            with quiet_libraries():
                if pilot:
                    found = measure_levels.of_pilot(listen, told)
                else:
                    found = measure_levels.of_callout(listen, speak, voice, gain, told)
    _print(found, as_json)
    sys.exit(0 if found.enough else 1)


def _print(found: Levels, as_json: bool) -> None:
    from callout.running.levels import advice

    if as_json:
        click.echo(json.dumps(found.as_json(), indent=2))
        return
    click.echo("octave (Hz)  noise (dBFS)  speech (dBFS)  above (dB)")
    for band in found.bands:
        click.echo(f"{band.octave:11}  {band.noise:12.1f}  {band.speech:13.1f}  {band.above:10.1f}")
    for sentence in advice(found):
        click.echo(sentence)
