"""A recording as if it were caught now: 16 kHz mono blocks of 20 ms.

Rule of this file: it reads and resamples, nothing waits for a clock. A block's
`captured_at` is its place in the recording.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import chain
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.endpoint import RATE
from callout.ear.problems import NotARecording

BLOCK = 320
"""Samples in a block: 20 ms."""

TAIL = 1.0
"""Silence after the recording, so that its last word ends (s)."""

READ = 1.0
"""Sound read from the file at a time (s): a long recording is never all in memory."""


def blocks(path: Path, *, tail: float = TAIL) -> Iterator[AudioBlock]:
    """Give a WAV, FLAC, OGG or Opus file as 16 kHz mono blocks of 20 ms.

    The last block is filled up with silence; `tail` seconds of it follow.
    Raises NotARecording when the file is missing or is no recording.
    """
    waiting: Samples = np.zeros(0, np.float32)
    given = 0
    silence = np.zeros(round(tail * RATE), np.float32)
    for piece in chain(_at_rate(path), [silence]):
        waiting = np.concatenate([waiting, piece])
        while len(waiting) >= BLOCK:
            yield AudioBlock(waiting[:BLOCK], RATE, given * BLOCK / RATE)
            waiting = waiting[BLOCK:]
            given += 1
    if len(waiting):
        last = np.pad(waiting, (0, BLOCK - len(waiting)))
        yield AudioBlock(last, RATE, given * BLOCK / RATE)


def check(path: Path) -> None:
    """Raise NotARecording when the file is missing, may not be read or is no recording."""
    with _opened(path):
        pass


def _at_rate(path: Path) -> Iterator[Samples]:
    """Give the file piece by piece, mixed to mono and resampled to 16 kHz."""
    soxr = _soxr()
    with _opened(path) as file:
        convert = soxr.ResampleStream(file.samplerate, RATE, 1, dtype="float32", quality="HQ")
        frames = max(1, round(READ * file.samplerate))
        for piece in file.blocks(frames, dtype="float32", always_2d=True):
            yield convert.resample_chunk(np.ascontiguousarray(piece.mean(axis=1)))
        yield convert.resample_chunk(np.zeros(0, np.float32), last=True)


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    """The file as soundfile reads it; what is wrong with it, also later on, is NotARecording."""
    soundfile = _soundfile()
    if not path.is_file():
        raise NotARecording(f"There is no recording at {path}.")
    if not os.access(path, os.R_OK):
        raise NotARecording(f"{path} may not be read by you; give yourself the right to read it.")
    try:
        with soundfile.SoundFile(path) as file:
            yield file
    except soundfile.LibsndfileError as problem:
        raise NotARecording(
            f"{path} is not a recording that can be read ({problem.error_string.strip()}); "
            "WAV, FLAC, OGG and Opus are understood."
        ) from problem


def _soundfile() -> ModuleType:
    try:
        import soundfile
    except (ImportError, OSError) as problem:
        raise NotARecording(
            "Reading a recording needs the package soundfile; install it with: "
            "pip install soundfile"
        ) from problem
    found: ModuleType = soundfile
    return found


def _soxr() -> ModuleType:
    try:
        import soxr
    except ImportError as problem:
        raise NotARecording(
            "Listening at another rate than 16 kHz needs the package soxr; install it with: "
            "pip install soxr"
        ) from problem
    found: ModuleType = soxr
    return found
