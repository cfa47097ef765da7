"""Recordings as bytes: sound to a piece, pieces to sound, sound to a file for people.

Rule of this file: soundfile is imported here, when a recording is wanted, and
nowhere else in this room. A piece is a whole file by itself: it can be read
however its recording ended.

Chosen by size (`python tests/running/measure_clips.py`: talk in helicopter noise, bytes a
second): FLAC 20 thousand in pieces of 1 s, Opus 4.4 thousand, 3.6 in pieces of 10 s. Squawks
are FLAC: a few seconds each, joined without a seam, exact for whoever must hear what
rattles, and played by every browser. Recordings of whole sessions are Opus.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from callout.audio_block import AudioBlock, Samples

RATE = 16_000
"""Recordings are made at this rate (Hz), that of the ear."""

FLAC, OPUS = "flac", "opus"

_FORMS = {FLAC: ("FLAC", "PCM_16"), OPUS: ("OGG", "OPUS")}

LONGEST_GAP = 600.0
"""Seconds of silence that a gap in a recording is filled with at most."""


class NoSoundError(Exception):
    """A recording cannot be read; the text is for people."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a recording: its form, session time of its first sample, bytes, length (s)."""

    form: str
    began: float
    seconds: float
    sound: bytes


def piece(form: str, block: AudioBlock) -> Piece:
    """Sound as a piece."""
    return Piece(form, block.captured_at, block.seconds, encoded(block, form))


def encoded(block: AudioBlock, form: str = FLAC) -> bytes:
    """Sound as a file of this form."""
    import soundfile

    kind, coding = _FORMS[form]
    made = io.BytesIO()
    limited = np.clip(block.samples, -1.0, 1.0)
    soundfile.write(made, limited, block.rate, format=kind, subtype=coding)
    return made.getvalue()


def joined(pieces: Iterable[Piece], until: float | None = None) -> AudioBlock | None:
    """The whole, gaps as silence, cut at session time `until`; None if nothing is left."""
    parts: list[Samples] = []
    began = ends_at = 0.0
    for one in pieces:
        samples = _decoded(one.sound)
        if not parts:
            began = ends_at = one.began
        gap = round(min(one.began - ends_at, LONGEST_GAP) * RATE)
        if gap > RATE // 100:  # less is the jitter of a clock
            parts.append(np.zeros(gap, np.float32))
            ends_at += gap / RATE
        parts.append(samples)
        ends_at += len(samples) / RATE
    whole = np.concatenate(parts) if parts else np.zeros(0, np.float32)
    if until is not None:
        whole = whole[: max(0, round((until - began) * RATE))]
    return AudioBlock(whole, RATE, began) if len(whole) else None


def _decoded(sound: bytes) -> Samples:
    import soundfile

    try:
        samples, rate = soundfile.read(io.BytesIO(sound), dtype="float32", always_2d=True)
    except (soundfile.LibsndfileError, RuntimeError) as problem:
        raise NoSoundError(f"A piece of the recording is damaged ({problem}).") from None
    mono: Samples = samples.mean(axis=1)
    if rate == RATE:
        return mono
    import soxr  # libsndfile gives Opus at the rate it was written with, but may not

    resampled: Samples = soxr.resample(mono, rate, RATE)
    return resampled
