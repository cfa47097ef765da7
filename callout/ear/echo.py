"""An echo of known sound is predicted and taken out of what the microphone caught.

Rule of this file: arrays in, arrays out; no clock, no grammar, nothing random.
The same blocks give the same result.

The filter is a partitioned-block Kalman filter in the frequency domain (Enzner
and Vary 2006; partitions as in Kuech, Mabande and Enzner 2014): how far each
part of the room's answer may still be off is part of its state, so that it
learns fast at first, slowly later, and hardly at all while somebody talks over
the echo. It is linear: what is not an echo goes through unchanged.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from callout.audio_block import Samples

BLOCK = 320
"""Samples of one block (20 ms at 16 kHz)."""
PARTS = 24
"""The room's answer is known for so many blocks: 480 ms of way, devices and room together."""
DRIFT = 0.9995
"""What a room's answer keeps from one block to the next; the rest may have changed."""
DOUBT = 0.05
"""Power of the room's answer that is thought possible before anything was heard, per part."""
LEAST_DOUBT = 1e-8
"""What stays possible however sure it was: a room can change."""
SMOOTH = 0.7
"""How much the estimate of what is no echo keeps from one block to the next."""
TINY = 1e-10

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Split:
    """One block of the microphone, parted.

    Fields:
        rest: what is no echo as far as known, float32 [BLOCK]
        echo: what was predicted of the echo, float32 [BLOCK]
    """

    rest: Samples
    echo: Samples


class EchoFilter:
    """Learns how known sound comes back into a microphone."""

    def __init__(self, parts: int = PARTS) -> None:
        self._known: Complexes = np.zeros((parts, BLOCK + 1), np.complex128)
        self._answer: Complexes = np.zeros((parts, BLOCK + 1), np.complex128)
        self._doubt: Floats = np.full((parts, BLOCK + 1), DOUBT / parts)
        self._other: Floats | None = None
        self._sound: Floats = np.zeros(2 * BLOCK)

    def split(self, caught: Samples, known: Samples) -> Split:
        """Take BLOCK samples caught while the `known` ones sounded, or up to PARTS blocks later."""
        self._sound = np.concatenate([self._sound[BLOCK:], known])
        self._known = np.roll(self._known, 1, axis=0)
        self._known[0] = np.fft.rfft(self._sound)
        echo = np.fft.irfft((self._known * self._answer).sum(axis=0))[BLOCK:]
        rest = caught - echo
        self._learn(np.fft.rfft(np.concatenate([np.zeros(BLOCK), rest])))
        return Split(rest.astype(np.float32), echo.astype(np.float32))

    def pause(self) -> None:
        """Nothing known sounds any more: what is remembered of it goes, the room stays."""
        self._known[:] = 0
        self._sound[:] = 0

    def _learn(self, rest: Complexes) -> None:
        power = np.abs(rest) ** 2
        loud = np.abs(self._known) ** 2
        if self._other is None:
            self._other = power
        self._other = SMOOTH * self._other + (1 - SMOOTH) * power
        step = self._doubt / (0.5 * (self._doubt * loud).sum(axis=0) + self._other + TINY)
        change = np.fft.irfft(step * self._known.conj() * rest, axis=1)
        change[:, BLOCK:] = 0
        self._answer = self._answer + np.fft.rfft(change, axis=1)
        kept = (1 - 0.5 * step * loud) * self._doubt
        drifted = DRIFT**2 * kept + (1 - DRIFT**2) * np.abs(self._answer) ** 2
        self._doubt = np.maximum(drifted, LEAST_DOUBT)
