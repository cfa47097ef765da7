"""Whether a figure has changed for good: the latest few against what was usual.

Rule of this file: numbers in, numbers out. What is said of a series up to one
session never depends on later ones, so that a change is found once, in the session
that showed it, and not again while it lasts.

Method: the median of the latest five against the median of up to two hundred before
them. How far that is, is told by the modified z-score of Iglewicz and Hoaglin, How to
Detect and Handle Outliers (1993), as in the NIST/SEMATECH e-Handbook of Statistical
Methods, 1.3.5.17 (from memory): 0.6745 of the distance over the median absolute
deviation, beyond 3.5 an outlier. A median of five scatters less than one value, by
OF_FIVE for normal ones, so its score is as much larger. The change must also be as large as
matters: with little scatter the smallest one is significant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from callout.engine.rundown_compare import PER_DEVIATION

RECENT = 5
"""Latest values whose median is compared: one or two odd ones change nothing."""

BASE = 200
"""Values before them that say what is usual: so many that a slow drift stays behind."""

LEAST = 10
"""Fewer than so many say nothing about what is usual (common practice, no source)."""

OUTLIER = 3.5
"""Iglewicz and Hoaglin's bound of the modified z-score."""

OF_FIVE = 0.5356
"""Standard deviation of the median of five normal values, over that of one."""

_Array = np.ndarray


@dataclass(frozen=True, slots=True)
class Change:
    """One change, from when it was found.

    Fields:
        found: place of the value that showed it
        over: place of the value that was usual again; None while it lasts
        usual: median before; now: median of the latest RECENT when it was found
    """

    found: int
    over: int | None
    usual: float
    now: float

    @property
    def percent(self) -> float:
        """By how much, below 0 for less."""
        return 100.0 * (self.now - self.usual) / abs(self.usual) if self.usual else 0.0


def score(distance: float, deviation: float) -> float:
    """The modified z-score; beyond every bound where nothing ever scattered."""
    if deviation > 0.0:
        return PER_DEVIATION * distance / deviation
    return float(np.copysign(np.inf, distance)) if distance else 0.0


def unusual(values: Sequence[float]) -> float | None:
    """Modified z-score of the last value against those before; None while they are too few."""
    before = np.asarray(values[-BASE - 1 : -1], dtype=float)
    if len(before) < LEAST:
        return None
    usual = float(np.median(before))
    return score(values[-1] - usual, float(np.median(np.abs(before - usual))))


def changes(values: Sequence[float], least: float) -> list[Change]:
    """Every change of at least this share of what was usual, oldest first.

    While one lasts, what was usual before it stays what is usual; it is over when
    less than half of it is left.
    """
    series = np.asarray(values, dtype=float)
    if len(series) < LEAST + RECENT:
        return []
    usual, deviation, now = _rolling(series)
    found: list[Change] = []
    going: Change | None = None
    for place in range(len(now)):
        at, median = place + LEAST + RECENT - 1, float(now[place])
        if going is not None:
            left = (median - going.usual) / (going.now - going.usual)
            if left < 0.5:
                found[-1] = Change(going.found, at, going.usual, going.now)
                going = None
        elif _changed(median - usual[place], usual[place], deviation[place], least):
            going = Change(at, None, float(usual[place]), median)
            found.append(going)
    return found


def _changed(distance: float, usual: float, deviation: float, least: float) -> bool:
    large = abs(distance) >= least * abs(usual) > 0.0
    return bool(large and abs(score(distance, deviation * OF_FIVE)) > OUTLIER)


def _rolling(series: _Array) -> tuple[_Array, _Array, _Array]:
    """For each place from LEAST + RECENT on: usual, median absolute deviation, latest median."""
    now = np.median(sliding_window_view(series, RECENT), axis=1)[LEAST:]
    usual, deviation = np.empty(len(now)), np.empty(len(now))
    short = min(len(now), BASE - LEAST)
    for place in range(short):
        before = series[: place + LEAST]
        usual[place] = np.median(before)
        deviation[place] = np.median(np.abs(before - usual[place]))
    if len(now) > short:
        windows = sliding_window_view(series, BASE)[: len(now) - short]
        usual[short:] = np.median(windows, axis=1)
        deviation[short:] = np.median(np.abs(windows - usual[short:, None]), axis=1)
    return usual, deviation, now
