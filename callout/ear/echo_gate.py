"""The gate that is shut while callout sounds and no filter is trusted: when, and who knocked.

Rule of this file: it remembers times and powers; no ear and no words. Somebody
spoke behind the gate when, after callout's last sound has come back, it gets loud
again: a room's own tail only dies away.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from callout.audio_block import Samples

RATE = 16_000
OPENS = 0.15
"""What begins so soon (s) after the gate was opened may have lost its beginning: "one five" that
is heard as "five" would be a wrong value."""
KEPT = 32
"""So many times that the gate was shut are remembered."""
RISES = 6.0
"""A block so much louder (dB) than the quietest since the echo ended is no tail of a room."""
STANDS_OUT = 12.0
"""And so much louder than the place usually is."""
SPOKE = 4
"""So many such blocks are a word; fewer are a click."""
JOINED = 0.6
"""What begins within so many seconds of it is one with what was spoken behind the gate."""
FLOOR = 1e-8


class Gates:
    """The stretches of session time (s) in which the ear got silence."""

    def __init__(self) -> None:
        self._shut: deque[tuple[float, float]] = deque(maxlen=KEPT)

    def shut(self, began: float, ended: float) -> None:
        """From `began` to `ended` it was shut; what follows soon after another is one with it."""
        if self._shut and abs(self._shut[-1][1] - began) < OPENS:
            began = self._shut.pop()[0]
        self._shut.append((began, ended))

    def cover(self, began: float, ended: float, longer: float) -> bool:
        """Whether any of it was shut between two times, or up to `longer` (s) before."""
        return any(begin < ended and began < end + longer for begin, end in self._shut)


class Knocking:
    """Listens behind a gate that is still shut after the echo has ended.

    Fields:
        began, ended: the session times (s) between which somebody spoke
    """

    def __init__(self) -> None:
        self._noise = 0.0
        self._quietest = np.inf
        self._blocks = 0
        self.began = self.ended = 0.0

    @property
    def somebody(self) -> bool:
        """Whether somebody spoke."""
        return self._blocks >= SPOKE

    def goes_on(self, began: float) -> bool:
        """Whether what began at `began` (s) is the rest of what was spoken."""
        return self.somebody and began < self.ended + JOINED

    def start_over(self) -> None:
        """Callout sounds again, or all was told."""
        self._quietest = np.inf
        self._blocks = 0

    def outside(self, samples: Samples, at: float, *, counts: bool) -> None:
        """Take a block caught at `at` (s) while nothing of callout is heard.

        It tells of the noise; or of somebody, who goes on speaking now that the gate is open,
        or begins so soon after that it `counts`.
        """
        if self.somebody or counts:
            self.take(samples, at)
            return
        power = _power(samples)
        higher = min(1.02 * self._noise, 0.98 * self._noise + 0.02 * power) or power
        lower = 0.9 * self._noise + 0.1 * power
        self._noise = lower if power < self._noise else higher

    def take(self, samples: Samples, at: float) -> None:
        """Take a block caught at `at` (s) while the gate is shut and the echo over."""
        power = _power(samples)
        self._quietest = min(self._quietest, max(power, self._noise))
        if power < _times(RISES) * self._quietest or power < _times(STANDS_OUT) * self._noise:
            return
        self.began = at if not self._blocks else self.began
        self.ended = at + len(samples) / RATE
        self._blocks += 1


def _power(samples: Samples) -> float:
    return float((samples.astype(np.float64) ** 2).mean()) + FLOOR


def _times(decibels: float) -> float:
    return float(10 ** (decibels / 10))
