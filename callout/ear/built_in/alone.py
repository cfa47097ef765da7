"""Whether the words of a match, and nothing else, were said: "not closed" is not "closed".

Rule of this file: rows and an alignment in, yes or no out. What the words mean, and whether it
matters, is decided elsewhere (Phrase.alone, utterance.py).

A word before or after an answer may turn it into its opposite, and no list of such words is ever
complete; so it is asked only whether anybody spoke there. Measured with 300 right answers by five
synthetic voices, clean to 0 dB, and 250 with a word more that were taken for them: sounds beside
the words that the model shows for certain are at most one row there and two or more here, and
speech begins at most two rows before the words there and three or more here.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from callout.ear.built_in.machine import BLANK, NOISE

Floats = NDArray[np.float32]

SPEECH = 0.5
"""A row whose blank is less probable than 1 - this is speech."""
STRAY = 2
"""So many rows beside the words whose likeliest column is a phone are another word."""
BEFORE = 3
"""So are sounds that begin so many rows (40 ms each) before the first word."""
WORST_WORD = 2.4
"""A word that fits worse (the measure of that name in judging.py) is another one. No right
answer of the 474 that this was chosen on was worse; "unclear" as "all clear" is from 2.3 to 2.9.
"""


def speech(rows: Floats) -> NDArray[np.bool_]:
    """Which rows ([n, 40]) hold a phone."""
    found: NDArray[np.bool_] = np.exp(rows[:, BLANK]) < 1.0 - SPEECH
    return found


def alone(rows: Floats, columns: NDArray[np.int32], spans: Sequence[tuple[int, int]]) -> bool:
    """Whether nothing else was said, and each of the words was.

    `columns`: the machine's column at each row ([n]); `spans`: first row of each word and the
    row after its last.
    """
    sounds = speech(rows)
    stray = (columns == NOISE) & (rows.argmax(axis=1) != BLANK)
    first = int(np.flatnonzero(sounds)[0]) if sounds.any() else 0
    if int(stray.sum()) >= STRAY or spans[0][0] - first >= BEFORE:
        return False
    return all(bool(sounds[begin:end].any()) for begin, end in spans)
