"""Sound in octaves: the level of each band of IEC 61260-1.

Rule of this file: samples in, decibels out. Bands have the edges of the
standard in base ten (G = 10^0.3, mid-bands 1000 G^k Hz, edges half an octave
away); the power between them is summed from the spectrum, so that the bands
share nothing. They are no filters of a class of that standard.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from callout.audio_block import Samples

RATIO = float(10**0.3)
"""An octave in base ten (IEC 61260-1)."""
NOMINAL = (250, 500, 1000, 2000, 4000)
"""The octaves that MIL-STD-1472E 5.3.4.1 looks at: 200 to 5000 Hz."""
WINDOW = 8192
"""Samples of one spectrum at most."""
NOTHING = 1e-15
"""Power below which a band counts as having none (-150 dB of full scale)."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Octave:
    """A band by the name on its dial (Hz)."""

    nominal: int

    @property
    def middle(self) -> float:
        """Exact mid-band frequency (Hz)."""
        return 1000.0 * math.pow(RATIO, round(math.log2(self.nominal / 1000)))

    @property
    def low(self) -> float:
        """Lower edge (Hz)."""
        return self.middle / math.sqrt(RATIO)

    @property
    def high(self) -> float:
        """Upper edge (Hz)."""
        return self.middle * math.sqrt(RATIO)


OCTAVES = tuple(Octave(nominal) for nominal in NOMINAL)


def octave_powers(samples: Samples, rate: int) -> Floats:
    """Mean square of the sound in each of OCTAVES (full scale 1), shape [5].

    A sine of amplitude 1 has 0.5. Spectra over Hann windows half overlapping
    (Welch 1967).
    """
    spectrum = _spectrum(samples, rate)
    width = rate / 2 / (len(spectrum) - 1)
    middles: Floats = np.arange(len(spectrum), dtype=np.float64) * width
    powers = [
        float((spectrum * _inside(middles, width, octave.low, octave.high)).sum())
        for octave in OCTAVES
    ]
    return np.array(powers)


def decibels(power: float) -> float:
    """Power as a level; no lower than that of nothing."""
    return float(10 * np.log10(max(NOTHING, power)))


def _spectrum(samples: Samples, rate: int) -> Floats:
    """Mean power of each bin, one-sided: the sum is the mean square of the sound."""
    length = min(WINDOW, len(samples))
    if length < rate // 50:
        raise ValueError(f"{len(samples)} samples at {rate} Hz are too few for octaves")
    window = np.hanning(length + 1)[:-1]
    starts = range(0, len(samples) - length + 1, length // 2)
    total = np.zeros(length // 2 + 1)
    for start in starts:
        part = samples[start : start + length].astype(np.float64)
        total += np.abs(np.fft.rfft(part * window)) ** 2
    total[1 : (length + 1) // 2] *= 2
    scaled: Floats = total / len(starts) / (length * (window**2).sum())
    return scaled


def _inside(middles: Floats, width: float, low: float, high: float) -> Floats:
    """Which share of each bin lies between two frequencies."""
    begin = np.maximum(middles - width / 2, low)
    end = np.minimum(middles + width / 2, high)
    return np.clip((end - begin) / width, 0.0, 1.0)
