"""Recorded words for tests, with the noise of a quiet room under them.

Rule of this file: the same call gives the same samples. Zeros are never speech's
surroundings: a real microphone has none.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import soundfile

from callout.audio_block import AudioBlock, Samples

RATE = 16_000
ROOM = 0.0005
LEVEL = 0.3
_FOLDER = Path(__file__).parent / "clips"


@dataclass(frozen=True)
class Clip:
    """One recording: its words ("" for talk), its kind (see clips/README.md), speaker."""

    text: str
    kind: str
    speaker: str
    samples: Samples


@cache
def clips() -> tuple[Clip, ...]:
    """All recordings, in the order of the file."""
    sound, rate = soundfile.read(_FOLDER / "clips.ogg", dtype="float32")
    assert rate == RATE
    made, begin = [], 0
    for entry in json.loads((_FOLDER / "clips.json").read_text(encoding="utf-8")):
        end = begin + entry["samples"]
        made.append(Clip(entry["text"], entry["kind"], entry["speaker"], sound[begin:end]))
        begin = end
    assert begin == len(sound)
    return tuple(made)


def clip(text: str, which: int = 0) -> Clip:
    """The recording of a text; `which` picks among several speakers."""
    return [one for one in clips() if one.text == text][which]


def talk() -> Samples:
    """Fourteen seconds of somebody reading a book."""
    return next(one.samples for one in clips() if one.kind == "talk")


def in_room(*sounds: Samples, between: float = 1.0, seed: int = 1) -> Samples:
    """Sounds after 1 s, with pauses (s) between them and 1.5 s after, over the noise of a room."""
    pause = np.zeros(round(between * RATE), np.float32)
    parts = [np.zeros(RATE, np.float32)]
    for sound in sounds:
        parts += [sound * LEVEL, pause]
    joined = np.concatenate([*parts[:-1], np.zeros(3 * RATE // 2, np.float32)])
    noise = np.random.default_rng(seed).normal(0, ROOM, len(joined))
    return (joined + noise).astype(np.float32)


def as_blocks(samples: Samples, size: int = 320, starts_at: float = 0.0) -> list[AudioBlock]:
    """A signal as a microphone gives it."""
    return [
        AudioBlock(samples[at : at + size], RATE, starts_at + at / RATE)
        for at in range(0, len(samples), size)
    ]
