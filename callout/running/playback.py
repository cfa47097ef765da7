"""What callout lets sound, kept for a moment: samples by session time, sentences by their times.

Rule of this file: it remembers and forgets; nothing is played here. One thread
asks; the loudspeaker's callback only puts its blocks in, and the session's
thread its sentences.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.endpoint import RATE
from callout.voice.shape import resampled

KEPT = 2 * RATE
"""Samples that are remembered longer than they are asked for (2 s)."""
ASTRAY = 0.1
"""Blocks that come so much off their place (s) begin a new count: the device stood still."""
BEHIND, BLOCKS = 0.004, 40
"""The same if each of so many blocks came so much (s) later than its place: samples were missed."""
SILENT = 1e-5
"""A block whose peak is below this is silence."""
AFTER = 0.05
"""Silence (s) that still goes through the converter after sound, so that none is left in it."""
SENTENCES = 16


class Playback:
    """The last sound that went out, at RATE.

    Args:
        now: tells session time (s)
    """

    def __init__(self, now: Callable[[], float] = lambda: 0.0) -> None:
        self._now = now
        self._came: deque[tuple[Samples, int, float]] = deque()
        self._pieces: list[tuple[int, Samples]] = []
        self._sentences: deque[tuple[float, float, str]] = deque(maxlen=SENTENCES)
        self._stream: _Stream | None = None

    def heard(self, samples: Samples, rate: int) -> None:
        """Take a block as it is handed to the device, now; from the device's own thread."""
        self._came.append((samples.copy(), rate, self._now()))

    def lay(self, clip: AudioBlock, at: float) -> None:
        """Take a clip that sounds from session time `at` (s) on."""
        self._pieces.append((round(at * RATE), resampled(clip, RATE).samples))

    def saying(self, text: str, began: float, ends: float) -> None:
        """Take a sentence that sounds from `began` to `ends` (session time, s)."""
        self._sentences.append((began, ends, text))

    def sound(self, first: int, count: int) -> Samples:
        """The samples from number `first` on (session time at RATE), shape [count]."""
        while self._came:
            self._convert(*self._came.popleft())
        found = np.zeros(count, np.float32)
        for begin, samples in self._pieces:
            start, end = max(begin, first), min(begin + len(samples), first + count)
            if start < end:
                found[start - first : end - first] += samples[start - begin : end - begin]
        if self._pieces and self._pieces[0][0] + len(self._pieces[0][1]) < first - KEPT:
            del self._pieces[0]
        return found

    def said(self, began: float, ended: float) -> Sequence[str]:
        """The sentences of which something sounded between two session times (s)."""
        return [
            text for begin, end, text in tuple(self._sentences) if begin < ended and end > began
        ]

    def _convert(self, samples: Samples, rate: int, at: float) -> None:
        if self._stream is None or self._stream.is_astray(rate, at):
            self._stream = _Stream(rate, at)
        piece = self._stream.take(samples)
        if piece is not None:
            self._pieces.append(piece)


class _Stream:
    """Blocks of a device one after another: counted, so that the clock's jitter does not matter."""

    def __init__(self, rate: int, at: float) -> None:
        self._rate = rate
        self._began_at = at
        self._taken = 0  # samples at the device's rate
        self._silent = round(AFTER * rate)  # of them, the last ones that were silence
        self._converter: Any = None
        self._first = 0  # number of the next sample that the converter gives
        self._behind: deque[float] = deque(maxlen=BLOCKS)  # how much later than its place each came

    def is_astray(self, rate: int, at: float) -> bool:
        """Whether a block that came now belongs to another count."""
        behind = at - self._began_at - self._taken / rate
        self._behind.append(behind)
        late = len(self._behind) == BLOCKS and min(self._behind) > BEHIND
        return rate != self._rate or abs(behind) > ASTRAY or late

    def take(self, samples: Samples) -> tuple[int, Samples] | None:
        """The next block; what it adds at RATE and the number of its first sample."""
        silent = float(np.abs(samples).max(initial=0.0)) < SILENT
        self._silent = self._silent + len(samples) if silent else 0
        begins_at = self._began_at + self._taken / self._rate
        self._taken += len(samples)
        if self._silent > AFTER * self._rate:
            self._converter = None
            return None
        if self._converter is None:
            self._converter = _converter(self._rate)
            self._first = round(begins_at * RATE)
        made = self._converter(samples)
        piece = (self._first, made)
        self._first += len(made)
        return piece if len(made) else None


def _converter(rate: int) -> Callable[[Samples], Samples]:
    if rate == RATE:
        return lambda samples: samples
    import soxr

    stream = soxr.ResampleStream(rate, RATE, 1, dtype="float32", quality="LQ")
    return lambda samples: np.asarray(stream.resample_chunk(samples), np.float32)
