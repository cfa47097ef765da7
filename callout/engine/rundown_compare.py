"""A run-down against the machine's own: the usual time, and how far from it this one is.

Rule of this file: pure arithmetic. The median and the median absolute deviation
are used because one odd past value moves neither: half of the values may be
wrong before the median is (breakdown point 50 %). The modified z-score is that
of Iglewicz and Hoaglin, How to Detect and Handle Outliers (1993), as in the
NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17 (from memory): 0.6745
of the distance over the median absolute deviation, labelled an outlier beyond 3.5.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

#: Makes the median absolute deviation that of a standard deviation for normal values.
PER_DEVIATION = 0.6745

#: Past values that are looked at, the latest ones: an engine's bearings age.
LATEST = 20


@dataclass(frozen=True, slots=True)
class Compared:
    """One run-down beside the past ones.

    Fields:
        usual: their median (s)
        of: how many they are
        score: modified z-score, below 0 for shorter; None where they do not scatter
        short: shorter by as much as is to be said
    """

    usual: float
    of: int
    score: float | None
    short: bool


def median(values: Sequence[float]) -> float:
    """The middle one, or the mean of the middle two."""
    ordered = sorted(values)
    middle = len(ordered) // 2
    if len(ordered) % 2:
        return ordered[middle]
    return (ordered[middle - 1] + ordered[middle]) / 2


def compare(
    seconds: float, past: Sequence[float], shorter_by: Decimal, least: int
) -> Compared | None:
    """Against the latest past ones; None while they are too few to say anything."""
    latest = past[-LATEST:]
    if len(latest) < least:
        return None
    usual = median(latest)
    scatter = median([abs(value - usual) for value in latest])
    score = PER_DEVIATION * (seconds - usual) / scatter if scatter > 0 else None
    short = seconds <= usual * (1 - float(shorter_by) / 100)
    return Compared(usual, len(latest), score, short)
