"""`callout squawk`: what was found wrong, listed, heard, closed, grounding.

Rule of this file: it reads options and prints; what a squawk is, and what became
of it, stands in callout/logbook/squawks.py. What is done here is written down
with who and how, for ever.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK
from callout.logbook.places import Place, default_logbook

if TYPE_CHECKING:
    from callout.audio_block import AudioBlock
    from callout.logbook.squawks import Squawk
    from callout.logbook.store import Logbook

UNVERIFIED = "unverified, written down by a machine"

_Command = Callable[..., None]


def _logbook(command: _Command) -> _Command:
    option = click.option("--logbook", "place", type=LOGBOOK, help="The logbook; your own if none.")
    return option(command)


def _who(command: _Command) -> _Command:
    return click.option("--who", required=True, help="Who does it and answers for it.")(command)


@click.group("squawk")
def command() -> None:
    """List, play, close and ground by squawks.

    A squawk goes by SESSION.NUMBER, as `callout squawk list` shows it.
    """


@command.command("list")
@click.option("--aircraft", help="Only those of this aircraft.")
@click.option("--all", "every", is_flag=True, help="The closed and dropped ones, too.")
@_logbook
def list_(aircraft: str | None, every: bool, place: Place | None) -> None:
    """List the squawks that are open."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from callout.logbook.squawks import open_squawks, squawks

    with say_errors(), _read(place) as logbook:
        known = squawks(logbook) if every else open_squawks(logbook)
        found = [one for one in known if aircraft in (None, one.aircraft)]
    if not found:
        click.echo("No squawk." if every else "No open squawk.")
        return
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in ("squawk", "opened (UTC)", "aircraft", "at", "state", "recording", "text"):
        table.add_column(column, overflow="fold")
    for one in found:
        cells = (one.key, _utc(one.opened.wall), one.aircraft, _at(one), _state(one),
                 _recording(one), _text(one))  # fmt: skip
        table.add_row(*(Text(plain(cell)) for cell in cells))
    Console(file=sys.stdout, highlight=False).print(table)


@command.command("show")
@click.argument("key")
@_logbook
def show(key: str, place: Place | None) -> None:
    """Show one squawk and all that became of it."""
    from callout.logbook.squawks import squawk

    with say_errors(), _read(place) as logbook:
        one = squawk(logbook, key)
    lines = [
        f"Squawk {one.key} of {one.aircraft}, {_state(one)}",
        f"At: {_at(one)} ({one.about or 'between lists'})",
        f"Recording: {_recording(one)}",
        f"Text: {_text(one) or 'none'}",
    ]
    for step in one.history:
        parts = (step.what, step.how, f"by {step.who}" if step.who else "")
        lines.append(f"{_utc(step.wall)} UTC  {', '.join(part for part in parts if part)}")
    for line in lines:
        click.echo(plain(line))


@command.command("play")
@click.argument("key")
@click.option("--to", type=click.Path(path_type=Path), help="Write it to a new FLAC file instead.")
@click.option("--speak", default="", help="Words of the loudspeaker's name.")
@_logbook
def play(key: str, to: Path | None, speak: str, place: Place | None) -> None:
    """Play the recording of a squawk."""
    from callout.logbook.clip_sound import encoded

    with say_errors():
        with _read(place) as logbook:
            block = _sound(logbook, key)
        if to is None:
            _play(block, speak)
            return
    try:
        with to.open("xb") as file:
            file.write(encoded(block))
    except FileExistsError:
        raise click.UsageError(f"{to} is there already. Give the name of a new file.") from None
    except OSError as error:
        raise click.UsageError(f"{to} cannot be written: {error.strerror}.") from None
    click.echo(f"{block.seconds:.1f} s to {to}.")


@command.command("close")
@click.argument("key")
@click.option("--how", required=True, help="How: repaired, replaced, no fault found ...")
@_who
@_logbook
def close(key: str, how: str, who: str, place: Place | None) -> None:
    """Close a squawk, with how and by whom."""
    from callout.logbook.squawks import CLOSE, OPEN

    _act(place, key, CLOSE, who, how, wanted=OPEN)


@command.command("reopen")
@click.argument("key")
@click.option("--how", "why", default="", help="Why.")
@_who
@_logbook
def reopen(key: str, why: str, who: str, place: Place | None) -> None:
    """Open a closed squawk again."""
    from callout.logbook.squawks import CLOSED, REOPEN

    _act(place, key, REOPEN, who, why, wanted=CLOSED)


@command.command("ground")
@click.argument("key")
@click.option("--how", "why", default="", help="Why.")
@_who
@_logbook
def ground(key: str, why: str, who: str, place: Place | None) -> None:
    """Let an open squawk ground the aircraft, until it is closed."""
    from callout.logbook.squawks import GROUND, OPEN

    _act(place, key, GROUND, who, why, wanted=OPEN)


@command.command("transcribe")
@click.argument("keys", nargs=-1)
@click.option("--model", type=click.Path(path_type=Path),
              help="A model of Vosk or faster-whisper: folder or name.")  # fmt: skip
@click.option("--language", default="en", show_default=True,
              help="What is spoken, for a model that knows several languages.")  # fmt: skip
@_logbook
def transcribe(
    keys: tuple[str, ...], model: Path | None, language: str, place: Place | None
) -> None:
    """Write down recordings (of KEYS, or of all open squawks without text).

    By Vosk or faster-whisper, whichever the model is for. It stays unverified text:
    nothing but a person's listening is to be trusted.
    """
    from callout.ear.dictation import dictation
    from callout.logbook.squawks import TRANSCRIBE, act, open_squawks, squawk
    from callout.logbook.store import Logbook
    from callout.running.clock import RealClock

    with say_errors():
        engine = dictation(model, language=language)
        with Logbook.open(place or default_logbook(), new=False) as logbook:
            wanted = [squawk(logbook, key) for key in keys] or [
                one for one in open_squawks(logbook) if not one.text and one.seconds
            ]
            if not wanted:
                click.echo("No open squawk has a recording and no text.")
            for one in wanted:
                text = engine.words(_sound(logbook, one.key))
                if text:
                    act(logbook, one, TRANSCRIBE, engine.by, text, RealClock().stamp(0.0))
                click.echo(plain(f"{one.key} ({UNVERIFIED}): {text or 'nothing understood'}"))


def _act(place: Place | None, key: str, what: str, who: str, how: str, *, wanted: str) -> None:
    from callout.logbook.squawks import act, squawk
    from callout.logbook.store import Logbook
    from callout.running.clock import RealClock

    if not who.strip():
        raise click.UsageError("--who must name a person.")
    with say_errors(), Logbook.open(place or default_logbook(), new=False) as logbook:
        one = squawk(logbook, key)
        if one.state != wanted:
            raise click.UsageError(f"Squawk {key} is {one.state}, not {wanted}.")
        act(logbook, one, what, who, how, RealClock().stamp(0.0))
        one = squawk(logbook, key)
    click.echo(plain(f"Squawk {one.key}, {_at(one)}: {_state(one)}."))


def _read(place: Place | None) -> Logbook:
    from callout.logbook.store import Logbook

    return Logbook.read(place or default_logbook())


def _sound(logbook: Logbook, key: str) -> AudioBlock:
    from callout.logbook.clip_sound import NoSoundError, joined
    from callout.logbook.squawks import pieces, squawk

    one = squawk(logbook, key)
    try:
        block = joined(pieces(logbook, one.session, str(one.number)), one.until)
    except NoSoundError as error:
        raise click.UsageError(str(error)) from None
    if block is None:
        raise click.UsageError(f"Squawk {key} has no recording: {_recording(one)}.")
    return block


def _play(block: AudioBlock, speak: str) -> None:
    import threading

    from callout.voice.loudspeaker import Loudspeaker

    over = threading.Event()
    loudspeaker = Loudspeaker(speak or None, lambda lost: over.set())
    loudspeaker.play(block, over.set)
    over.wait(block.seconds + 5.0)
    loudspeaker.close()


def plain(text: Any) -> str:  # noqa: ANN401 - whatever is to be printed
    """Text with what a terminal would obey spelled out."""
    return "".join(
        c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in str(text)
    )


def _at(one: Squawk) -> str:
    return f"{one.called}, {one.where}" if one.where else one.called


def _state(one: Squawk) -> str:
    return (
        f"{one.state}, grounds the aircraft" if one.grounds and one.state == "open" else one.state
    )


def _recording(one: Squawk) -> str:
    if one.seconds > 0:
        broken = ", broken off" if one.ended in ("", "program came back") else ""
        return f"{one.seconds:.1f} s{broken}"
    if one.removed:
        return "removed"
    return "none" if one.kind == "typed" else "none, or lost"


def _text(one: Squawk) -> str:
    return f"({UNVERIFIED}) {one.text}" if one.kind == "unverified" else one.text


def _utc(wall: str) -> str:
    return wall[:16].replace("T", " ")
