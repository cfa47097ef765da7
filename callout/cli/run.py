"""`callout run`: read an aircraft's checklists aloud and listen for the answers.

Rule of this file: it turns words of the command line into settings, and the
rooms' errors into sentences.
"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from callout.cli.errors import say_errors
from callout.cli.logbook_place import LOGBOOK
from callout.ear.choose import EARS
from callout.logbook.places import Place, default_logbook
from callout.voice.choose import BUNDLED, VOICES


@click.command("run")
@click.argument("aircraft", type=click.Path(path_type=Path))
@click.argument("lists", nargs=-1)
@click.option(
    "--ear",
    type=click.Choice(EARS),
    default=EARS[0],
    show_default=True,
    help="What understands the answers; keys takes typed words.",
)
@click.option(
    "--listen",
    default="microphone",
    show_default=True,
    help="microphone, microphone:NAME, phone, a recording (WAV, FLAC, OGG) or none.",
)
@click.option(
    "--speak",
    default="loudspeaker",
    show_default=True,
    help="loudspeaker, loudspeaker:NAME, phone, a sound file to write, or none.",
)
@click.option(
    "--voice",
    type=click.Choice([BUNDLED, *VOICES]),
    default=BUNDLED,
    show_default=True,
    help="Which voice speaks; bundled is the best that is here.",
)
@click.option("--logbook", type=LOGBOOK, help="The logbook: a file, or a server's URL.")
@click.option(
    "--clock",
    type=click.Choice(["real", "recording"]),
    default="real",
    show_default=True,
    help="recording: run through a recording as fast as the machine can.",
)
@click.option(
    "--headset",
    is_flag=True,
    help="The microphone cannot hear callout: listen while it speaks, too.",
)
@click.option(
    "--gain",
    type=click.IntRange(-12, 9),
    default=0,
    show_default=True,
    help="Decibels louder or softer, as `callout doctor levels` advises.",
)
@click.option("--model", type=click.Path(path_type=Path), help="A Vosk model: folder or name.")
@click.option(
    "--key",
    "keys",
    multiple=True,
    metavar="KEY=MEANING",
    help="A key instead of a word: affirm, say-again, hold or roger, as in f1=affirm.",
)
@click.option(
    "--key-device",
    default="",
    metavar="NAME",
    help="The pedal or presenter that has the keys, by its name (Linux).",
)
@click.option("--pilot", default="", help="Who speaks, as named to `callout enrol`.")
@click.option(
    "--moments",
    type=click.Path(path_type=Path),
    help="A .jsonl file for when each step of a turn happened (for `callout bench turn`).",
)
@click.option(
    "--feed",
    help="Gauge readings from - (standard input), a file, udp:PORT, tcp:HOST:PORT or "
    "serial:DEVICE[:BAUD].",
)
@click.option(
    "--record-session/--no-record-session",
    default=None,
    help="Keep the sound of the whole session, whatever the aircraft file says.",
)
@click.option(
    "--view", is_flag=True, help="One view of the session on the terminal, instead of lines."
)
@click.option(
    "--glance",
    is_flag=True,
    help="Serve a page to look at and to touch, for the local network (callout[glance]).",
)
@click.option(
    "--glance-at",
    default="",
    metavar="ADDRESS[:PORT]",
    help="Serve it at this address of this machine, as in 192.168.1.5:8443.",
)
@click.option("--new", is_flag=True, help="Do not take up an unfinished session.")
def command(
    aircraft: Path,
    lists: tuple[str, ...],
    ear: str,
    listen: str,
    speak: str,
    voice: str,
    logbook: Place | None,
    clock: str,
    headset: bool,
    gain: int,
    model: Path | None,
    pilot: str,
    keys: tuple[str, ...],
    key_device: str,
    moments: Path | None,
    feed: str | None,
    view: bool,
    glance: bool,
    glance_at: str,
    record_session: bool | None,
    new: bool,
) -> None:
    """Read the checklists of AIRCRAFT aloud and listen for the answers.

    LISTS are the ids of the lists to run, in order; without any, the whole
    flying day. A session that was broken off is taken up where it stopped.

    The aircraft's own handbook rules. callout never says that it is safe to
    start, take off or fly.
    """
    from callout.gauges.feed.places import place
    from callout.running.assembly import run
    from callout.running.screen import Transcript
    from callout.running.settings import LOUDSPEAKER, MICROPHONE, RunSettings, served, sound_end

    with say_errors():
        settings = RunSettings(
            aircraft=aircraft,
            logbook=logbook or default_logbook(),
            lists=lists,
            ear=ear,
            voice=voice,
            listen=sound_end(listen, MICROPHONE),
            speak=sound_end(speak, LOUDSPEAKER),
            recording_time=clock == "recording",
            headset=headset,
            gain=gain,
            model=model,
            pilot=pilot,
            keys=keys,
            key_device=key_device,
            resume=not new,
            moments=moments,
            record_session=record_session,
            view=view,
            feed=place(feed) if feed is not None else None,
        )
        sys.exit(run(served(glance, glance_at, settings), Transcript()))
