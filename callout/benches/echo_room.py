"""A room in which callout's voice comes back, as arithmetic.

Rule of this file: sound in, sound out; the same every time. Direct sound, then a
tail of noise that dies away (an image of a small workshop, common practice, no
source); the loudspeaker is overdriven a little, and devices may slip.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from callout.audio_block import Samples
from callout.running.recording_sets import RATE

SLIPS = (0.0, 0.013, -0.011, 0.037, 0.002, -0.023, 0.005)
"""Seconds by which a device slips, one after another: from call to call, and from the first half
of a call to its second."""
OVERDRIVEN = 2.0
"""The loudspeaker gives tanh(2 x) / 2: a few per cent of distortion at the level of a call."""


@dataclass(frozen=True, slots=True)
class Loop:
    """How the voice comes back.

    Fields:
        level: of the echo against the pilot's speech (dB)
        delay: of the devices and the way (s)
        reverberation: seconds in which the tail falls by 60 dB
        direct: direct sound against the tail (dB)
        slips: whether the delay is another in every call, and again in its second half
    """

    level: float
    delay: float
    reverberation: float = 0.4
    direct: float = 3.0
    slips: bool = False

    def answer(self, slip: float = 0.0) -> Samples:
        """The room's answer to one click, `slip` s late, at RATE; the same every time."""
        random = np.random.default_rng(1)
        times = np.arange(round(0.8 * self.reverberation * RATE)) / RATE
        tail = random.normal(0, 1, len(times)) * 10 ** (-3 * times / self.reverberation)
        tail[: round(0.002 * RATE)] = 0.0
        tail *= np.sqrt(10 ** (-self.direct / 10) / (tail**2).sum())
        tail[0] = 1.0
        return np.concatenate([np.zeros(max(0, round((self.delay + slip) * RATE))), tail]).astype(
            np.float32
        )


def overdriven(sound: Samples) -> Samples:
    """What the loudspeaker makes of a sound."""
    driven: Samples = np.asarray(np.tanh(OVERDRIVEN * sound) / OVERDRIVEN, np.float32)
    return driven


def answered(sound: Samples, answer: Samples) -> Samples:
    """What a room makes of a sound."""
    length = len(sound) + len(answer)
    size = 1 << (length - 1).bit_length()
    back = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(answer, size), size)
    return back[:length].astype(np.float32)


def loops(levels: Sequence[float], delays: Sequence[float]) -> Iterator[Loop]:
    """Every level with every delay (s)."""
    for level in levels:
        for delay in delays:
            yield Loop(level, delay)
