"""How sure a PocketSphinx guess is: the scores of two searches to one probability.

Rule of this file: arithmetic only. The weights are those of a logistic
regression by `python tests/ear/measure_pocketsphinx.py`, whose figures stand in
that file.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Evidence:
    """Scores of one utterance, natural logs.

    Fields:
        grammar: best path through what counts now
        phones: best path through any phones: what the sound is if anything goes
        worst: score per frame of the word that fits least
        frames: length of the words, all_frames: of the utterance (10 ms frames)
    """

    grammar: float
    phones: float
    worst: float
    frames: int
    all_frames: int

    def features(self) -> tuple[float, float, float, float]:
        """Return what the regression sees.

        Lead over the phones, in all and per frame of words; the worst word; the
        share of the utterance that is words.
        """
        lead = self.grammar - self.phones
        return lead, lead / self.frames, self.worst, self.frames / self.all_frames


WEIGHTS = (0.0045, 0.1796, 0.7752, 4.2103)
BIAS = 0.786


def certainty(evidence: Evidence) -> float:
    """Return how likely the guess is exactly what was said, 0 .. 1."""
    weighed = zip(WEIGHTS, evidence.features(), strict=True)
    total = BIAS + sum(weight * feature for weight, feature in weighed)
    return 1.0 / (1.0 + math.exp(-max(-50.0, min(50.0, total))))
