"""Connected numbers: single digits of one speaker joined, or numbers as they were spoken.

Rule of this file: a number counts as understood only when every digit is right.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal

import numpy as np

from callout.running.recording_sets import RATE, Clip
from callout.running.speech_level import speech_power
from callout.words.number_words import DIGITS, PLAIN_DIGITS
from callout.words.phrases import Grammar, NumberSlot
from callout.words.read_numbers import readings

PAUSES = (0.0, 0.08)
"""Shortest and longest silence between joined digits (s): fluent, not listed."""
FRAME = 320
"""Samples of a frame that is looked at for where a digit ends (20 ms)."""
QUIET = 0.001
"""Frames with less of the loudest frame's power than this (-30 dB) are cut off at the ends."""


def number_grammar(certainty: float, highest: int = 9999) -> Grammar:
    """A gauge that shows 0 .. highest without a point."""
    slot = NumberSlot("number", Decimal(0), Decimal(highest), certainty=certainty)
    return Grammar(1, (), (slot,))


def numbers(clips: Sequence[Clip], count: int, seed: int = 0) -> list[Clip]:
    """`count` numbers of two to four digits: joined from single digits, or as recorded.

    Sets that hold spoken numbers of more than one digit give those; sets of
    single digits are joined, each number from recordings of one speaker.
    """
    whole = [clip for clip in clips if len(clip.text.split()) > 1 and readings(clip.text)]
    singles = [clip for clip in clips if clip.text in DIGITS]
    return whole[:count] if whole and not singles else _joined(singles, count, seed)


def _joined(clips: Sequence[Clip], count: int, seed: int) -> list[Clip]:
    random = np.random.default_rng(seed)
    by_speaker: dict[str, list[Clip]] = defaultdict(list)
    for clip in clips:
        by_speaker[clip.speaker].append(clip)
    speakers = sorted(speaker for speaker, said in by_speaker.items() if len(said) >= 4)
    made: list[Clip] = []
    for place in range(count if speakers else 0):
        said = by_speaker[speakers[place % len(speakers)]]
        length = 2 + int(random.integers(3))
        chosen = [said[i] for i in random.choice(len(said), length, replace=False)]
        made.append(_one(chosen, place, random))
    return made


def _one(clips: Sequence[Clip], place: int, random: np.random.Generator) -> Clip:
    parts: list[np.ndarray] = []
    for clip in clips:
        sound = trimmed(clip.samples)
        parts += [sound / np.sqrt(speech_power(sound)) * np.float32(0.1)]
        parts += [np.zeros(int(random.uniform(*PAUSES) * RATE), np.float32)]
    text = " ".join(PLAIN_DIGITS[DIGITS[clip.text]] for clip in clips)
    return Clip(text, clips[0].speaker, np.concatenate(parts).astype(np.float32), place)


def trimmed(sound: np.ndarray) -> np.ndarray:
    """Cut off what is quiet at both ends, but for two frames: a soft S is part of "six"."""
    count = len(sound) // FRAME
    power = (sound[: count * FRAME].reshape(count, FRAME).astype(np.float64) ** 2).mean(axis=1)
    loud = np.flatnonzero(power >= QUIET * power.max())
    return sound[max(0, loud[0] - 2) * FRAME : (loud[-1] + 3) * FRAME]
