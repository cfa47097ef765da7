"""What one run was asked for: files, devices, ear, voice, clock.

Rule of this file: values and their reading from the command line's words.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import platformdirs

from callout.gauges.feed.places import Place
from callout.glance.address import At, at
from callout.glance.problems import GlanceProblem
from callout.logbook.places import Place as LogbookPlace
from callout.running.problems import CannotRunError

MICROPHONE, LOUDSPEAKER, NONE, PHONE_WORD = "microphone", "loudspeaker", "none", "phone"


@dataclass(frozen=True, slots=True)
class Device:
    """A microphone or loudspeaker, by words of its name ("" for the system's choice)."""

    words: str = ""


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone that was paired, as microphone or earpiece."""


PHONE = Phone()


@dataclass(frozen=True, slots=True)
class RunSettings:
    """One run.

    Fields:
        aircraft: the file
        lists: ids to run in order; () for all normal ones
        ear, voice: names as choose.py of each room has them
        listen: a microphone, a recording, the phone, or None (keys only)
        speak: a loudspeaker, a sound file, the phone, or None (text only)
        logbook: a SQLite file, or a server
        recording_time: run by the recording's clock instead of the world's
        pilot: the enrolled pilot who speaks ("" for anybody), profiles: where they are kept
        model: a Vosk model, by folder or name
        headset: the microphone cannot hear callout, so the ear is not guarded against it
        gain: decibels by which callout speaks louder, or softer
        resume: take up an unfinished session of the same file
        clips: folder of prepared speech
        keys: what single keys mean, each as "f1=affirm"
        key_device: the device they are on, by words of its name ("" for the terminal)
        feed: where the gauges' readings come from; None where they are read aloud
        record_session: keep the sound of the whole session; None as the aircraft file has it
        view: one view on the terminal, redrawn in place, instead of lines
        glance: where the glance page is served; None for no page
        glance_folder: where its certificate is kept
        moments: a file for when each step of a turn happened; None for nowhere
    """

    aircraft: Path
    logbook: LogbookPlace
    lists: tuple[str, ...] = ()
    ear: str = "built-in"
    voice: str = "bundled"
    listen: Device | Path | Phone | None = Device()
    speak: Device | Path | Phone | None = Device()
    recording_time: bool = False
    headset: bool = False
    gain: int = 0
    pilot: str = ""
    profiles: Path | None = None
    model: Path | None = None
    resume: bool = True
    keys: tuple[str, ...] = ()
    key_device: str = ""
    clips: Path = platformdirs.user_cache_path("callout", appauthor=False) / "clips"
    moments: Path | None = None
    feed: Place | None = None
    view: bool = False
    glance: At | None = None
    glance_folder: Path = platformdirs.user_data_path("callout", appauthor=False) / "glance"
    record_session: bool | None = None


def sound_end(words: str, device: str) -> Device | Path | Phone | None:
    """Read "microphone:USB", "phone", "FILE.wav" or "none"; `device` is the word for a device."""
    if words == NONE:
        return None
    if words == PHONE_WORD:
        return PHONE
    head, _, tail = words.partition(":")
    if head == device:
        return Device(tail)
    return Path(words)


def served(glance: bool, words: str, settings: RunSettings) -> RunSettings:
    """The settings with where the page is served; a phone needs it, too.  Raises GlanceProblem."""
    phone = PHONE in (settings.listen, settings.speak)
    if not (glance or words or phone):
        return settings
    if settings.recording_time:
        raise GlanceProblem(
            "A glance page or a phone needs --clock real: a recording runs faster than people."
        )
    return replace(settings, glance=at(words) if words else At())


def keep_recordings(speak: Device | Path | Phone | None, *heard: object) -> None:
    """CannotRunError if the sound file to be written is a recording that is listened to."""
    if not isinstance(speak, Path) or not speak.exists():
        return
    for one in heard:
        if isinstance(one, Path) and one.exists() and speak.samefile(one):
            raise CannotRunError(
                f"--speak {speak} is the recording that is listened to, and would be lost: "
                "give another name."
            )
