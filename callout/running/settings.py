"""What one run was asked for: files, devices, ear, voice, clock.

Rule of this file: values and their reading from the command line's words.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import platformdirs

MICROPHONE, LOUDSPEAKER, NONE = "microphone", "loudspeaker", "none"


@dataclass(frozen=True, slots=True)
class Device:
    """A microphone or loudspeaker, by words of its name ("" for the system's choice)."""

    words: str = ""


@dataclass(frozen=True, slots=True)
class RunSettings:
    """One run.

    Fields:
        aircraft: the file
        lists: ids to run in order; () for all normal ones
        ear, voice: names as choose.py of each room has them
        listen: a microphone, a recording, or None (keys only)
        speak: a loudspeaker, a sound file, or None (text only)
        logbook: the SQLite file
        recording_time: run by the recording's clock instead of the world's
        pilot: the enrolled pilot who speaks ("" for anybody), profiles: where they are kept
        model: a Vosk model, by folder or name
        headset: own voice cannot reach the microphone, so it is never deaf
        resume: take up an unfinished session of the same file
        clips: folder of prepared speech
    """

    aircraft: Path
    logbook: Path
    lists: tuple[str, ...] = ()
    ear: str = "built-in"
    voice: str = "bundled"
    listen: Device | Path | None = Device()
    speak: Device | Path | None = Device()
    recording_time: bool = False
    headset: bool = False
    pilot: str = ""
    profiles: Path | None = None
    model: Path | None = None
    resume: bool = True
    clips: Path = platformdirs.user_cache_path("callout", appauthor=False) / "clips"


def sound_end(words: str, device: str) -> Device | Path | None:
    """Read "microphone:USB", "FILE.wav" or "none"; `device` is the word for a device."""
    if words == NONE:
        return None
    head, _, tail = words.partition(":")
    if head == device:
        return Device(tail)
    return Path(words)
