"""Takes the sound that levels.py compares: from devices, or from recordings.

Rule of this file: it plays and records; nothing is judged here.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.capture import Microphone
from callout.ear.endpoint import RATE
from callout.ear.from_file import blocks
from callout.running.gain import louder
from callout.running.levels import Levels, Whose, measured
from callout.running.problems import CannotRunError
from callout.voice.clips import CLIP_RATE
from callout.voice.loudspeaker import Loudspeaker
from callout.voice.shape import shaped

SENTENCE = "Fuel lever. Battery voltage, two four point five. Area around and above, all clear."
"""What is said to be measured: words of checklists."""
NOISE_SECONDS = 4.0
PILOT_SECONDS = 5.0
SETTLES = 0.3
"""Sound of a microphone that was just opened and is not looked at (s)."""
COMES_LATE = 0.6
"""What is said has been caught so long after its end at the latest (s)."""
LEAST = 0.5
"""A recording of less (s) is too short."""


def from_recordings(noise: Path, speech: Path, whose: Whose) -> Levels:
    """Compare two recordings, one of noise alone.  Raises EarProblem, CannotRunError."""
    alone, both = _recording(noise), _recording(speech)
    return measured(alone, both, RATE, whose, len(both) / RATE)


def of_callout(
    microphone: str, loudspeaker: str, voice: str, gain: float, told: Callable[[str], None]
) -> Levels:
    """Listen to the place, then let callout speak into it.  Raises EarProblem, VoiceLost."""
    from callout.voice.choose import make_voice

    clip = louder(shaped(make_voice(voice).synthesise(SENTENCE), CLIP_RATE), gain)
    listening = Microphone(microphone)
    try:
        speaker = Loudspeaker(loudspeaker or None)
        try:
            told("Be quiet for some seconds: the noise of the place is measured.")
            noise = _caught(listening, NOISE_SECONDS)
            told("Now callout speaks.")
            speaker.play(clip)
            both = _caught(listening, clip.seconds + COMES_LATE, settles=0.0)
        finally:
            speaker.close()
    finally:
        listening.close()
    return measured(noise, both, RATE, Whose.CALLOUT, clip.seconds)


def of_pilot(microphone: str, told: Callable[[str], None]) -> Levels:
    """Listen to the place, then to the pilot speaking.  Raises EarProblem."""
    listening = Microphone(microphone)
    try:
        told("Be quiet for some seconds: the noise of the place is measured.")
        noise = _caught(listening, NOISE_SECONDS)
        told("Now count aloud from one, without a pause, as you will answer.")
        both = _caught(listening, PILOT_SECONDS, settles=SETTLES)
    finally:
        listening.close()
    return measured(noise, both, RATE, Whose.PILOT, PILOT_SECONDS)


def _caught(listening: Microphone, seconds: float, settles: float = SETTLES) -> Samples:
    """What comes from now on, `settles` seconds of it left out."""
    begins = time.monotonic()
    parts: list[AudioBlock] = []
    while sum(part.seconds for part in parts) < seconds:
        block = listening.read()
        if block is not None and block.captured_at >= begins + settles:
            parts.append(block)
    return np.concatenate([part.samples for part in parts])


def _recording(path: Path) -> Samples:
    sound = np.concatenate([block.samples for block in blocks(path, tail=0.0)])
    if len(sound) < LEAST * RATE:
        raise CannotRunError(f"{path} is too short: at least {LEAST:.1f} s are needed.")
    return sound
