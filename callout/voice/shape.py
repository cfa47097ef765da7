"""From what a synthesiser made to what is played: one rate, one level, no silence around it.

Rule of this file: samples in, samples out; nothing here reads, writes or waits.
"""

from __future__ import annotations

import math

import numpy as np

from callout.audio_block import AudioBlock, Samples

ACTIVE_LEVEL = -20.0
"""Level every clip is brought to (dBFS RMS over the frames in which something sounds)."""

PEAK_CEILING = -1.0
"""No sample goes above this (dBFS); a clip that would is made quieter instead of clipped."""

_FRAME = 0.02  # s, length over which a level is taken
_ACTIVE_RANGE = 30.0  # dB below the loudest frame that still counts as sounding
_EDGE_FRAME = 0.005  # s, step in which silence is looked for
_EDGE_RANGE = 50.0  # dB below the loudest 5 ms: quieter is silence (an "f" is about 35 below)
_KEEP_BEFORE = 0.01  # s kept before the first sound
_KEEP_AFTER = 0.03  # s kept after the last sound, so that it does not end with a knock
_FADE = 0.005  # s of raised cosine at both ends


def shaped(block: AudioBlock, rate: int) -> AudioBlock:
    """The block at `rate` Hz, trimmed, faded at its ends and brought to ACTIVE_LEVEL."""
    samples = at_level(trimmed(resampled(block, rate).samples, rate), rate)
    return AudioBlock(faded(samples, rate), rate, block.captured_at)


def resampled(block: AudioBlock, rate: int) -> AudioBlock:
    """The same sound at another rate (soxr, quality HQ: a clip is whole, delay costs nothing)."""
    if block.rate == rate or not len(block.samples):
        return AudioBlock(block.samples, rate, block.captured_at)
    import soxr

    samples = soxr.resample(block.samples, block.rate, rate, quality="HQ")
    return AudioBlock(samples.astype(np.float32), rate, block.captured_at)


def trimmed(samples: Samples, rate: int) -> Samples:
    """Without the silence before the first and after the last sound; all silence gives []."""
    step = max(1, round(_EDGE_FRAME * rate))
    levels = _frame_levels(samples, step)
    if not len(levels) or not np.isfinite(levels.max()):
        return samples[:0]
    loud = np.flatnonzero(levels > levels.max() - _EDGE_RANGE)
    first = max(0, int(loud[0]) * step - round(_KEEP_BEFORE * rate))
    last = min(len(samples), (int(loud[-1]) + 1) * step + round(_KEEP_AFTER * rate))
    return samples[first:last]


def at_level(samples: Samples, rate: int) -> Samples:
    """Scaled to ACTIVE_LEVEL, or less where PEAK_CEILING would be passed."""
    level = active_level(samples, rate)
    if not math.isfinite(level):
        return samples
    peak = float(np.abs(samples).max())
    gain = min(10 ** ((ACTIVE_LEVEL - level) / 20), 10 ** (PEAK_CEILING / 20) / peak)
    return (samples * gain).astype(np.float32)


def active_level(samples: Samples, rate: int) -> float:
    """RMS (dBFS) over the 20 ms frames within 30 dB of the loudest; -inf for silence.

    Pauses do not count, as in ITU-T P.56 (the idea, from memory; not its method).
    """
    levels = _frame_levels(samples, max(1, round(_FRAME * rate)))
    if not len(levels) or not np.isfinite(levels.max()):
        return -math.inf
    active = levels[levels > levels.max() - _ACTIVE_RANGE]
    return float(10 * np.log10(np.mean(10 ** (active / 10))))


def faded(samples: Samples, rate: int, seconds: float = _FADE) -> Samples:
    """With raised-cosine edges of `seconds` at both ends, so that nothing clicks."""
    n = min(round(seconds * rate), len(samples) // 2)
    result = samples.astype(np.float32, copy=True)
    if n:
        ramp = (0.5 - 0.5 * np.cos(np.pi * (np.arange(n) + 0.5) / n)).astype(np.float32)
        result[:n] *= ramp
        result[-n:] *= ramp[::-1]
    return result


def _frame_levels(samples: Samples, step: int) -> np.ndarray:
    """Level (dB) of each frame of `step` samples; the last may be short; -inf where all is zero."""
    if not len(samples):
        return np.empty(0)
    power = np.square(samples, dtype=np.float64)
    starts = np.arange(0, len(power), step)
    counts = np.minimum(step, len(power) - starts)
    with np.errstate(divide="ignore"):
        return 10 * np.log10(np.add.reduceat(power, starts) / counts)
