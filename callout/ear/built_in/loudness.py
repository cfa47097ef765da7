"""How loud each row of the model was, and how a word stands out from what is around it.

Rule of this file: power in decibels by row, nothing of phones. The model may
keep silent about talk that it was taught to ignore; loudness does not, so a
word in the middle of talk is told from one that stands by itself.
"""

from __future__ import annotations

from enum import Enum

import numpy as np
from numpy.typing import NDArray

from callout.ear.acoustic import STEP_SECONDS
from callout.ear.built_in.lag import Lag

ROW = round(STEP_SECONDS * 16_000)
"""Samples of one row."""
KEPT = 500
"""Rows that are remembered (20 s)."""
FLOOR = 1e-9
"""Power of nothing at all (-90 dB of full scale)."""
NEAR, FAR = 3, 11
"""Surroundings: from so many to so many rows away (0.12 to 0.44 s)."""
MOST = 15.0
"""Standing out by more decibels than this says no more."""
QUIET = 6.0
"""It is quiet after a word when all that follows is so many decibels below it."""
HUM, FAINT = 6.0, 20.0
"""It is silent when that is also no more than HUM above the hum of the surroundings, or FAINT
below the word (dB): the soft beginning of a next digit is louder than either.
"""
HUM_ROWS = 100
"""The hum is the fifth part from below of so many rows (4 s)."""
FEW = 2
"""With fewer rows of surroundings nothing can be said."""
AUDIBLE, FAINTER = 3.0, 1.0
"""Somebody speaks where it is so many decibels above the hum, or at most FAINTER decibels fainter
than words that hardly stand out of it themselves: what the model makes of noise is fainter.
"""


class Quiet(Enum):
    """What is known of the sound after a word."""

    NO = "as loud as the word, or not heard yet"
    LOWER = "well below the word"
    SILENT = "nobody speaks"


class Loudness:
    """Power of each row of a stream, in order."""

    def __init__(self, lag: Lag) -> None:
        self._late = lag.late
        self._left = np.zeros(0, np.float32)
        self._powers: list[float] = []
        self._first = 0

    def hear(self, samples: NDArray[np.float32]) -> None:
        """Take the next samples at 16 kHz, any length."""
        sound = np.concatenate([self._left, samples])
        count = len(sound) // ROW
        self._left = sound[count * ROW :]
        rows = sound[: count * ROW].reshape(count, ROW).astype(np.float64)
        self._powers += ((rows**2).mean(axis=1) + FLOOR).tolist()
        if len(self._powers) > 2 * KEPT:
            self._first += len(self._powers) - KEPT
            self._powers = self._powers[-KEPT:]

    def after(self, first: int, last: int, newest: int) -> Quiet:
        """How quiet it is from a word (as in stands_out) to the newest row."""
        word = self._mean(first - self._late - 1, last - self._late + 1)
        begin = max(0, last - self._late + NEAR - self._first)
        end = max(0, newest + 1 - self._first)
        after = self._powers[begin:end]
        if word is None or not after or end > len(self._powers):
            return Quiet.NO  # not heard yet: not known to be quiet
        loudest = 10 * np.log10(max(after))
        below = 10 * np.log10(word) - loudest
        if below < QUIET:
            return Quiet.NO
        faint = below >= FAINT or loudest <= self._hum(end) + HUM
        return Quiet.SILENT if faint else Quiet.LOWER

    def stands_out(self, first: int, last: int, newest: int) -> tuple[float, float]:
        """How far a word is above what is before and after it (dB, 0 .. MOST).

        Its phones showed at rows first .. last; what sounded `late` rows earlier is
        looked at. Rows after `newest` are not looked at, so that the answer does not hang on
        how the sound was cut into blocks. Where nothing is known of one side,
        MOST: silence is assumed.
        """
        first, last = first - self._late, last - self._late
        word = self._mean(first - 1, last + 1)
        before = self._mean(first - FAR, first - NEAR + 1)
        after = self._mean(last + NEAR, min(last + FAR, newest + 1))
        return self._above(word, before), self._above(word, after)

    def audible(
        self, begin: int, count: int, words: tuple[int, int], newest: int
    ) -> NDArray[np.bool_]:
        """Whether what shows at each of `count` rows from `begin` on may be somebody's, [count].

        `words`: first row at which the words of a match show, and the row after the last. What
        sounds a row sooner or later counts for a row, too. As in stands_out nothing after
        `newest` is looked at.
        """
        known = self._powers[: max(0, newest + 1 - self._first)]
        if not known:
            return np.ones(count, bool)
        hum, word = self._hum(len(known)), self._mean(*(row - self._late for row in words))
        least = AUDIBLE if word is None else min(AUDIBLE, 10 * np.log10(word) - hum - FAINTER)
        loud = np.pad(10 * np.log10(known) > hum + least, 1)
        near = loud[:-2] | loud[1:-1] | loud[2:]
        places = np.arange(begin, begin + count) - self._late - self._first
        return near[np.clip(places, 0, len(near) - 1)]

    def _hum(self, end: int) -> float:
        """Level (dB) of the surroundings up to the row before place `end` of what is kept."""
        return float(10 * np.log10(np.quantile(self._powers[max(0, end - HUM_ROWS) : end], 0.2)))

    @staticmethod
    def _above(word: float | None, around: float | None) -> float:
        if word is None or around is None:
            return MOST
        return float(np.clip(10 * np.log10(word / around), 0.0, MOST))

    def _mean(self, begin: int, end: int) -> float | None:
        """Mean power of rows begin .. end - 1, None if too few of them are known."""
        known = self._powers[max(0, begin - self._first) : max(0, end - self._first)]
        return float(np.mean(known)) if len(known) >= FEW else None
