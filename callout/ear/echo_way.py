"""How late callout's voice comes back, found by loudness alone, whatever the devices' clocks say.

Rule of this file: loudness block by block in, a number of blocks out. It needs no
filter: it also finds an echo that is later than any filter of ours reaches.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

KEPT = 400
"""Blocks (8 s) that are compared."""
LATEST = 125
"""Blocks (2.5 s) that an echo may be late."""
EVERY = 25
"""Blocks between two looks."""
LEAST = 50
"""Blocks in which callout must have sounded among those kept: less says nothing."""
BESIDE = 150
"""Blocks (3 s) that are laid beside one another at least: fewer are alike by chance."""
ENOUGH = 125
"""Blocks of callout's voice (2.5 s) after which no echo was found: there is none to fear."""
ALIKE, ALIKE_AGAIN = 0.6, 0.5
"""Correlation of the logarithms of power from which it is an echo; the same when the look before
found it in the same place. A comparison of fewer blocks counts less, as chance is larger."""
STEADY = 0.5
"""Standard deviation of the same in a place where nothing but steady noise is heard."""
FLOOR = 1e-6
"""Power (of full scale) under which nothing is told from silence."""


class Way:
    """Compares what sounded with what was caught.

    Fields:
        late: blocks until the echo comes; None where none was found
        sure: an echo was found, or callout sounded long enough without one
    """

    def __init__(self) -> None:
        self._known: Floats = np.full(KEPT, np.log(FLOOR))
        self._caught: Floats = np.full(KEPT, np.log(FLOOR))
        self._blocks = 0
        self._sounded = 0
        self._best = -KEPT
        self.late: int | None = None
        self.sure = False

    def take(self, known: NDArray[np.float32], caught: NDArray[np.float32]) -> None:
        """Take the next block of both."""
        self._known = np.append(self._known[1:], _loudness(known))
        self._caught = np.append(self._caught[1:], _loudness(caught))
        self._blocks += 1
        self._sounded += bool(self._known[-1] > np.log(FLOOR) + 1)
        if self._blocks % EVERY == 0:
            self._look()

    def doubt(self) -> None:
        """The clocks jumped: what was kept lies no longer side by side."""
        self._blocks = 0
        self._sounded = 0
        self.sure = False

    def _look(self) -> None:
        count = min(self._blocks, KEPT)
        known, caught = self._known[-count:], self._caught[-count:]
        if (known > np.log(FLOOR) + 1).sum() < LEAST:
            return
        alike = [
            _alike(known[: count - lag], caught[lag:]) * np.sqrt((count - lag) / KEPT)
            for lag in _lags(count)
        ]
        best = int(np.argmax(alike)) if alike else 0
        again, self._best = abs(best - self._best) <= 1, best
        if alike and alike[best] >= (ALIKE_AGAIN if again else ALIKE):
            self.late, self.sure = best, True
        elif self._sounded >= ENOUGH and caught.std() < STEADY:
            self.sure = True


def _lags(count: int) -> range:
    return range(max(0, min(LATEST, count - BESIDE)))


def _loudness(samples: NDArray[np.float32]) -> float:
    return float(np.log((samples.astype(np.float64) ** 2).mean() + FLOOR))


def _alike(known: Floats, caught: Floats) -> float:
    known, caught = known - known.mean(), caught - caught.mean()
    norm = float(np.sqrt((known**2).sum() * (caught**2).sum()))
    return float(known @ caught) / norm if norm > 0 else 0.0
