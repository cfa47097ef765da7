"""The colour of a voice as a headset gives it, and whether it has changed.

Rule of this file: sound in, decibels out. What hums in the pauses is taken off
before anything is compared, so that a running engine is not a new headset.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from callout.ear.mel import FFT, HOP, WINDOW, mel_bank

Bands = NDArray[np.float64]

ENOUGH = 300
"""Frames of speech (10 ms each) before anything is said."""
MOST = 20_000
"""No more pieces than this are kept: more would tell nothing new."""
ABOVE = 4.0
"""A frame is speech when it has so many times the power of the pauses."""
CHANGED = 6.0
"""Root mean square difference (dB) from which another headset is suspected."""


@dataclass(frozen=True, slots=True)
class Colour:
    """Speech power by band above the pauses, dB about its own mean; NaN where noise hides it."""

    bands: tuple[float, ...]

    def apart(self, other: Colour) -> float | None:
        """Root mean square difference (dB) over the bands that both have; None if too few."""
        one, two = np.array(self.bands), np.array(other.bands)
        both = np.isfinite(one) & np.isfinite(two)
        if both.sum() < len(one) // 3:
            return None
        gap = one[both] - two[both]
        return float(np.sqrt(((gap - gap.mean()) ** 2).mean()))


class Listening:
    """Gathers the colour of what is heard."""

    def __init__(self) -> None:
        self._bank = mel_bank().astype(np.float64)
        self._window = np.hanning(WINDOW + 1)[:-1]
        self._powers: list[Bands] = []
        self._left = np.zeros(0, np.float32)

    def hear(self, samples: NDArray[np.float32]) -> None:
        """Take sound at 16 kHz, any length."""
        sound = np.concatenate([self._left, samples])
        count = max(0, (len(sound) - WINDOW) // HOP + 1)
        self._left = sound[count * HOP :]
        if count and len(self._powers) < MOST:
            frames = np.lib.stride_tricks.sliding_window_view(sound, WINDOW)[::HOP][:count]
            self._powers.append((np.abs(np.fft.rfft(frames * self._window, FFT)) ** 2) @ self._bank)

    def colour(self) -> Colour | None:
        """The colour so far; None before enough speech was heard."""
        if not self._powers:
            return None
        powers = np.concatenate(self._powers)
        level = powers.sum(axis=1)
        pauses = level <= np.quantile(level, 0.2)
        speaking = level > ABOVE * level[pauses].mean()
        if speaking.sum() < ENOUGH:
            return None
        hum = powers[pauses].mean(axis=0)
        voice = powers[speaking].mean(axis=0)
        clear = np.where(voice > 2 * hum, voice - hum, np.nan)
        decibels = 10 * np.log10(clear + 1e-12)
        return Colour(tuple(float(band) for band in decibels - np.nanmean(decibels)))
