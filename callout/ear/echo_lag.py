"""How many samples later known sound comes back, found to the sample.

Rule of this file: two pieces of sound in, a number of samples out. It looks at the
sharp front of the echo (a deconvolution in the frequency domain), where
echo_way.py looks at loudness alone: this one is exact and quick, that one finds
what is later or bent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from callout.audio_block import Samples

RATE = 16_000
WINDOW = 2 * RATE
"""Samples that are compared."""
EARLIEST, LATEST = -1600, RATE
"""An echo is looked for from so many samples before its time (clocks lie) to so many after."""
EVERY = RATE // 8
"""Samples between two looks."""
LEAST = RATE // 16
"""Loud samples of callout's voice that must be among those compared."""
LOUD = 0.02
"""Above this, a sample of callout's voice is loud (it speaks at -20 dB of full scale)."""
FRONT, FRONT_AGAIN = 25.0, 16.0
"""So many times above what lies around it the front of an echo stands out; the same when the
look before found it in the same place. One that was found already is found elsewhere by two."""
NEARBY = 4
"""A front that moved by so few samples is where it was: the filter follows that by itself."""
WIDTH = 65
"""Bins over which the power of the known sound is smoothed."""
FLOOR = 1e-3
"""Where known sound has less than this share of its most power, it tells nothing."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Front:
    """The sharpest front of an echo between EARLIEST and LATEST.

    Fields:
        late: samples after the known sound
        sharpness: times that it stands out from what lies around it
    """

    late: int
    sharpness: float


class Lag:
    """Compares what sounded with what was caught, as it goes on.

    Fields:
        late: samples until the echo comes, when it was last found; None: never
        power: of what was caught against the known sound that it may be the echo of
    """

    def __init__(self) -> None:
        self._known: Floats = np.zeros(WINDOW)
        self._caught: Floats = np.zeros(WINDOW)
        self._since = 0
        self._before: int | None = None
        self.late: int | None = None
        self.power = 1.0

    def take(self, known: Samples, caught: Samples) -> bool:
        """Take the next samples of both, equally many; whether the echo was found elsewhere."""
        self._known = np.concatenate([self._known[len(known) :], known])
        self._caught = np.concatenate([self._caught[len(caught) :], caught])
        self._since += len(known)
        if self._since < EVERY or (np.abs(self._known) > LOUD).sum() < LEAST:
            return False
        self._since = 0
        return self._look()

    def begin(self) -> None:
        """Callout begins to sound: what was kept is of another call."""
        self._known[:] = 0
        self._caught[:] = 0
        self._before = None

    def _look(self) -> bool:
        found = front(self._known, self._caught)
        again = self._before is not None and abs(found.late - self._before) <= NEARBY
        self._before = found.late
        if found.sharpness < (FRONT_AGAIN if again else FRONT):
            return False
        if self.late is not None and (not again or abs(found.late - self.late) <= NEARBY):
            return False
        self.late = found.late
        count = WINDOW - abs(found.late)
        known = self._known[:count] if found.late >= 0 else self._known[-count:]
        caught = self._caught[-count:] if found.late >= 0 else self._caught[:count]
        self.power = float((caught**2).mean() / ((known**2).mean() + 1e-9))
        return True


def front(known: Floats | Samples, caught: Floats | Samples) -> Front:
    """Find where known sound comes back most sharply in what was caught; equally long."""
    size = 1 << (len(known) + LATEST - EARLIEST - 1).bit_length()
    sounded, came = np.fft.rfft(known, size), np.fft.rfft(caught, size)
    power = _smooth(np.abs(sounded) ** 2)
    answer = np.fft.irfft(came * sounded.conj() / (power + FLOOR * power.max() + 1e-12), size)
    around = np.abs(np.concatenate([answer[EARLIEST:], answer[:LATEST]]))
    best = int(np.argmax(around))
    spread = float(np.sqrt((around**2).mean()))
    return Front(best + EARLIEST, float(around[best]) / spread if spread > 0 else 0.0)


def _smooth(power: Floats) -> Floats:
    total = np.cumsum(np.concatenate([np.zeros(1), power]))
    places = np.arange(len(power))
    first = np.maximum(places - WIDTH // 2, 0)
    last = np.minimum(places + WIDTH // 2 + 1, len(power))
    mean: Floats = (total[last] - total[first]) / (last - first)
    return mean
