"""The exact probability of a text: the sum over all its alignments (the CTC forward score).

Rule of this file: independent of machine.py and passing.py but for the price
of noise, so that each can be checked against the other.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from callout.ear.built_in.machine import BLANK, NOISE
from callout.ear.built_in.passing import NEVER, with_noise

Floats = NDArray[np.float32]


def forward_scores(rows: Floats, texts: Sequence[Sequence[int]]) -> Floats:
    """Score texts given as columns of phones against rows of the model ([n, 40]).

    Leading and trailing silence may hold stray sounds, as in the machine.
    Returns natural logarithms of probabilities, float32 [len(texts)].
    """
    labels, lengths = _with_blanks(texts)
    emitted = with_noise(rows)[:, labels]  # [n, texts, labels]
    skips = _may_skip(labels)
    score = np.full(labels.shape, NEVER, np.float32)
    score[:, :2] = emitted[0, :, :2]
    for row in emitted[1:]:
        one = np.full_like(score, NEVER)
        one[:, 1:] = score[:, :-1]
        two = np.full_like(score, NEVER)
        two[:, 2:] = np.where(skips[:, 2:], score[:, :-2], NEVER)
        score = np.maximum(np.logaddexp(np.logaddexp(score, one), two) + row, NEVER)
    each = np.arange(len(texts))
    ends: Floats = np.logaddexp(score[each, lengths - 1], score[each, lengths - 2])
    return ends


def free_score(rows: Floats) -> float:
    """Say what the best sounds of all would score: the filler, as a natural logarithm."""
    return float(rows.max(axis=1).sum())


def _with_blanks(texts: Sequence[Sequence[int]]) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Columns with a blank between any two and noise around: [texts, labels], and lengths."""
    lengths = np.array([2 * len(text) + 1 for text in texts], np.int32)
    labels = np.full((len(texts), int(lengths.max())), BLANK, np.int32)
    for place, text in enumerate(texts):
        labels[place, 1 : 2 * len(text) : 2] = text
        labels[place, [0, 2 * len(text)]] = NOISE
    return labels, lengths


def _may_skip(labels: NDArray[np.int32]) -> NDArray[np.bool_]:
    """Where the blank before a phone may be left out: phones that differ from the one before."""
    skips = np.zeros(labels.shape, bool)
    skips[:, 3::2] = labels[:, 3::2] != labels[:, 1:-2:2]
    return skips
