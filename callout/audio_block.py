"""The one shared type below everything: a block of sound and when it was caught.

Rule of this file: it knows nothing of microphones, files, ears or voices.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
"""Mono sound, shape [n], float32, full scale -1 .. 1."""


@dataclass(frozen=True, slots=True)
class AudioBlock:
    """A stretch of mono sound.

    Fields:
        samples: float32 [n], -1 .. 1
        rate: samples per second (Hz)
        captured_at: session time of the first sample (s); 0.0 for a prepared clip
    """

    samples: Samples
    rate: int
    captured_at: float = 0.0

    @property
    def seconds(self) -> float:
        """How long the block lasts (s)."""
        return len(self.samples) / self.rate

    @property
    def ends_at(self) -> float:
        """Session time just after the last sample (s)."""
        return self.captured_at + self.seconds
