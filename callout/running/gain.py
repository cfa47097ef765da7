"""Callout's own voice louder or softer, and never beyond full scale.

Rule of this file: samples in, samples out. Softer ends where a warning could
no longer be heard (MIL-STD-1472E 5.3.6: volume never reducible to inaudible);
louder ends where speech would be more bent than heard.
"""

from __future__ import annotations

import numpy as np

from callout.audio_block import AudioBlock
from callout.running.mouth import Output

SOFTEST, LOUDEST = -12, 9
"""Decibels (common practice, no source)."""
KNEE = 0.7
"""What would be above this is bent, so that it stays below full scale."""


def louder(clip: AudioBlock, gain: float) -> AudioBlock:
    """The clip with `gain` dB; a gain of 0 changes nothing."""
    if not gain:
        return clip
    samples = clip.samples * np.float32(10 ** (gain / 20))
    size = np.abs(samples)
    over = (size - KNEE) / (1 - KNEE)
    bent = np.where(size > KNEE, KNEE + (1 - KNEE) * np.tanh(np.maximum(over, 0)), size)
    return AudioBlock((np.sign(samples) * bent).astype(np.float32), clip.rate, clip.captured_at)


class Louder:
    """An output that gets every clip louder or softer."""

    def __init__(self, output: Output, gain: float) -> None:
        self._output = output
        self._gain = gain

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        """As Output.start."""
        self._output.start(louder(clip, self._gain), at, now)

    def cut(self, at: float) -> None:
        """As Output.cut."""
        self._output.cut(at)

    def close(self, at: float) -> None:
        """As Output.close."""
        self._output.close(at)
