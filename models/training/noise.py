"""Noise by physical recipe: turbine, rotor, gearbox, wind, exhaust.

Rule of this file: every sound is made from a seed; no recording. The numbers
are common practice, no source: blades pass 8 to 35 times a second, shaft and
gear tones lie between 200 Hz and 7 kHz and drift by a percent or two.
"""

from __future__ import annotations

import numpy as np

RATE = 16_000


def shaped(rng: np.random.Generator, count: int, slope: float, bend: float) -> np.ndarray:
    """Random noise that falls by `slope` dB an octave above `bend` Hz, unit power."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    hertz = np.fft.rfftfreq(count, 1 / RATE)
    spectrum *= np.maximum(1.0, hertz / bend) ** (slope / 6.02)
    spectrum *= hertz > 20
    return unit(np.fft.irfft(spectrum, count))


def unit(x: np.ndarray) -> np.ndarray:
    """The same sound with unit power."""
    return x / (x.std() + 1e-9)


def drift(rng: np.random.Generator, count: int, amount: float) -> np.ndarray:
    """A slow random factor around 1."""
    points = np.cumsum(rng.normal(0, amount / 3, count // 4_000 + 2))
    points -= points.mean()
    return 1 + np.interp(np.arange(count), np.arange(len(points)) * 4_000, points)


def tones(rng: np.random.Generator, count: int) -> np.ndarray:
    """Whine: a few shafts and meshes with harmonics, drifting, with noise close to the tones."""
    out = np.zeros(count)
    for _ in range(rng.integers(1, 5)):
        base = np.exp(rng.uniform(np.log(200), np.log(5_000)))
        phase = 2 * np.pi * np.cumsum(base * drift(rng, count, rng.uniform(0.001, 0.02))) / RATE
        rough = 1 + rng.uniform(0, 0.5) * shaped(rng, count, -12, 30)
        level = np.exp(rng.normal(0, 1))
        for harmonic in range(1, 6):
            if base * harmonic < 7_500:
                turn = rng.uniform(0, 2 * np.pi)
                out += (
                    level
                    * rough
                    * np.sin(harmonic * phase + turn)
                    / harmonic ** rng.uniform(0.5, 2)
                )
    return unit(out)


def rotor(rng: np.random.Generator, count: int) -> np.ndarray:
    """Blade slap: bursts of noise at the blade passing rate, and broad noise in its rhythm."""
    rate = rng.uniform(8, 35)
    turn = np.cumsum(rate * drift(rng, count, 0.01)) / RATE
    sharp = rng.uniform(1, 12)
    beat = np.exp(sharp * (np.cos(2 * np.pi * turn) - 1))
    thump = shaped(rng, count, -rng.uniform(6, 18), rng.uniform(40, 300)) * beat
    swish = shaped(rng, count, -rng.uniform(2, 8), rng.uniform(200, 2_000))
    swish *= 1 - rng.uniform(0.2, 0.9) * beat
    return unit(unit(thump) + rng.uniform(0.1, 1.5) * unit(swish))


def wind(rng: np.random.Generator, count: int) -> np.ndarray:
    """Low rumble that comes and goes."""
    gusts = np.abs(1 + rng.uniform(0.2, 0.8) * np.cumsum(rng.normal(0, 0.2, count // 1_600 + 2)))
    swell = np.interp(np.arange(count), np.arange(len(gusts)) * 1_600, gusts / gusts.mean())
    return unit(shaped(rng, count, -rng.uniform(6, 14), rng.uniform(60, 300)) * swell)


def machine(rng: np.random.Generator, seconds: float = 8.0) -> np.ndarray:
    """One clip: some of the above together, float32, peak 0.6."""
    count = int(seconds * RATE)
    out = shaped(rng, count, -rng.uniform(0, 9), rng.uniform(100, 3_000)) * rng.uniform(0.05, 1)
    for part, chance, most in ((tones, 0.7, 1.2), (rotor, 0.7, 1.5), (wind, 0.4, 1.0)):
        if rng.random() < chance:
            out = out + rng.uniform(0.1, most) * part(rng, count)
    return (0.6 * out / np.abs(out).max()).astype(np.float32)
