"""Whether the words of a match, and nothing else, were said: "not closed" is not "closed".

Rule of this file: rows and an alignment in, yes or no out. What the words mean, and whether it
matters, is decided elsewhere (Phrase.alone, utterance.py).

A word before or after an answer may turn it into its opposite, and no list of such words is ever
complete; so it is asked only whether anybody spoke there. In loud noise the model shows sounds
where nobody speaks, but these are no louder than the noise, and a word beside an answer is. Chosen
on 1753 texts with words beside an answer (three synthetic voices, clean to 0 dB, noise that was
trained on) and 2712 right answers by four; told the same of two other voices in other noise.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from callout.ear.built_in.machine import BLANK, NOISE

Floats = NDArray[np.float32]

SPEECH = 0.5
"""A row whose blank is less probable than 1 - this is speech."""
STRAY = 2
"""So many rows beside the words whose likeliest column is a phone are another word, if one of
them is loud enough to be somebody's.
"""
BEFORE = 5
"""So are sounds that begin so many rows (40 ms each) before the first word."""
WORST_WORD = 2.6
"""A word that fits worse (the measure of that name in judging.py) is another one: "standing
turning" as "standing ready" is from 2.2 to 2.9, and one right answer of 2700 is worse.
"""


def speech(rows: Floats) -> NDArray[np.bool_]:
    """Which rows ([n, 40]) hold a phone."""
    found: NDArray[np.bool_] = np.exp(rows[:, BLANK]) < 1.0 - SPEECH
    return found


def alone(
    rows: Floats, columns: NDArray[np.int32], begins: int, audible: NDArray[np.bool_]
) -> bool:
    """Whether nothing else was said.

    `columns`: the machine's column at each row ([n]); `begins`: first row of the first word;
    `audible`: whether what shows at a row is loud enough to be somebody's ([n]).
    """
    stray = (columns == NOISE) & (rows.argmax(axis=1) != BLANK)
    before = np.flatnonzero(speech(rows)[:begins])
    too_soon = len(before) > 0 and begins - int(before[0]) >= BEFORE
    another = int(stray.sum()) >= STRAY and bool(audible[stray].any())
    return not another and not (too_soon and bool(audible[before].any()))
