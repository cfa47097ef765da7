"""The level of speech in a recording: ITU-T Recommendation P.56, method B, active speech level.

Rule of this file: the Recommendation's constants and its arithmetic, nothing else.

Silence around words would make speech look weaker than it is, and its loudest
frames stronger; P.56 counts the time in which somebody speaks, short gaps
between sounds included. Its constants are given here from memory. The envelope
is worked out in steps of 1 ms, a thirtieth of its time constant.
"""

from __future__ import annotations

import math

import numpy as np

from callout.audio_block import Samples

RATE = 16_000
STEP = RATE // 1000
"""Samples in one step of the envelope (1 ms)."""
TIME_CONSTANT = 0.03
"""Of each of the two smoothing filters in a row (s)."""
HANGOVER = 200
"""Speech is still active so many steps after the envelope fell below a threshold (0.2 s)."""
MARGIN = 15.9
"""The threshold that counts lies so many decibels below the active level."""
THRESHOLDS = tuple(2.0**-place for place in range(16))
"""Of the envelope, relative to full scale, from loud to faint."""
NOTHING = 1e-12
"""Power of a recording in which nobody speaks."""


def speech_power(samples: Samples) -> float:
    """Mean power while speech is active; 16 kHz, -1 .. 1."""
    envelope = _envelope(samples)
    energy = float((samples.astype(np.float64) ** 2).sum()) / STEP
    before: tuple[float, float] | None = None
    for threshold in THRESHOLDS:
        count = _active(envelope, threshold)
        if not count or not energy:
            continue
        level = 10 * math.log10(energy / count)
        above = level - 20 * math.log10(threshold)
        if above >= MARGIN:
            return 10 ** (_between(before, (level, above)) / 10)
        before = (level, above)
    return NOTHING if before is None else 10 ** (before[0] / 10)


def _between(before: tuple[float, float] | None, now: tuple[float, float]) -> float:
    """The level at which it would be exactly MARGIN above the threshold."""
    if before is None:
        return now[0]
    part = (MARGIN - before[1]) / (now[1] - before[1])
    return before[0] + part * (now[0] - before[0])


def _envelope(samples: Samples) -> np.ndarray:
    """Magnitude, smoothed twice, one value a step."""
    count = len(samples) // STEP
    magnitude = np.abs(samples[: count * STEP].astype(np.float64)).reshape(count, STEP)
    keep = math.exp(-STEP / RATE / TIME_CONSTANT)
    once = twice = 0.0
    smooth = []
    for value in magnitude.mean(axis=1).tolist():
        once = keep * once + (1 - keep) * value
        twice = keep * twice + (1 - keep) * once
        smooth.append(twice)
    return np.array(smooth)


def _active(envelope: np.ndarray, threshold: float) -> int:
    """How many steps are active, hangover included."""
    place = np.arange(len(envelope))
    last = np.maximum.accumulate(np.where(envelope >= threshold, place, -HANGOVER - 1))
    return int((place - last <= HANGOVER).sum())
