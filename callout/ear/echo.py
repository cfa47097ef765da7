"""An echo of known sound is predicted and taken out of what the microphone caught.

Rule of this file: arrays in, arrays out; no clock, no grammar, nothing random.
The same blocks give the same result.

The filter is a partitioned-block Kalman filter in the frequency domain (Enzner
and Vary 2006; partitions as in Kuech, Mabande and Enzner 2014): how far each
part of the room's answer may still be off is part of its state, so that it
learns fast at first, slowly later, and hardly at all while somebody talks over
the echo. It is linear: what is not an echo goes through unchanged.

Where the front of the echo is known (echo_lag.py) the filter is aimed at it: what
may be off is then thought to lie there and soon after, as rooms are, and it
learns in a fraction of a second what takes it seconds without.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from callout.audio_block import Samples

BLOCK = 320
"""Samples of one block (20 ms at 16 kHz)."""
PARTS = 20
"""The room's answer is known for so many blocks: 400 ms; of way, devices and room together as
long as nobody aimed."""
FRONT_AT = BLOCK
"""Aimed, the front of the echo lies so many samples behind the beginning of the answer."""
DIES = 0.6
"""What of an answer's power is thought possible one block later, behind its front (60 dB in 0.5 s),
and BEFORE as a share in the blocks before it."""
BEFORE = 0.05
DRIFT = 0.999
"""What a room's answer keeps from one block to the next; the rest may have changed."""
DOUBT = 0.05
"""Power of the room's answer that is thought possible as long as nobody aimed."""
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

    def __init__(self) -> None:
        self._known: Complexes = np.zeros((PARTS, BLOCK + 1), np.complex128)
        self._answer: Complexes = np.zeros((PARTS, BLOCK + 1), np.complex128)
        self._doubt: Floats = np.full((PARTS, BLOCK + 1), DOUBT / PARTS)
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

    def aim(self, history: Samples, power: float, *, keeps: bool) -> None:
        """The echo's front was found: known sound comes from elsewhere from the next block on.

        `history`: the last PARTS + 1 blocks of known sound before that; `power`: of what may be
        off; `keeps`: the room is the same as far as known.
        """
        pieces = history.reshape(PARTS + 1, BLOCK)
        both = np.concatenate([pieces[:-1], pieces[1:]], axis=1)
        self._known = np.fft.rfft(both, axis=1)[::-1].copy()
        self._sound = np.concatenate([pieces[-2], pieces[-1]]).astype(np.float64)
        shape = DIES ** np.abs(np.arange(PARTS) - FRONT_AT // BLOCK)
        shape[: FRONT_AT // BLOCK] = BEFORE
        if not keeps:
            self._answer[:] = 0
        likely = power * shape / shape.sum()
        self._doubt[:] = np.maximum(self._doubt if keeps else 0, likely[:, None])

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
