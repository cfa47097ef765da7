"""How sure a PocketSphinx guess is: scores of three searches to one probability.

Rule of this file: arithmetic only. The weights were fitted by
tests/ear/measure_pocketsphinx.py; the figures they give stand in that file.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Evidence:
    """Natural-log scores of one utterance.

    Fields:
        grammar: best path through what counts now
        loop: best path through a loop of phones: what the sound is if anything goes
        runner_up: best path through the grammar with other words; None if pruned away
        frames: length of the words (10 ms frames)
    """

    grammar: float
    loop: float
    runner_up: float | None
    frames: int


def certainty(evidence: Evidence) -> float:
    """Return how likely the guess is exactly what was said, 0 .. 1."""
    fit = (evidence.grammar - evidence.loop) / evidence.frames
    return 1.0 / (1.0 + math.exp(-8.0 * (fit + 0.3)))
