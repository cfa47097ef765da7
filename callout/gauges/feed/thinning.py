"""How much of a fast feed the engine is given.

Rule of this file: nothing that passes a limit is ever left out. Of a gauge that
comes faster than OFTEN, a value between the same limits as the one before may
be; the first beyond one, or back, goes through at once.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from decimal import Decimal

from callout.checklist.model import Band, Gauge, Limit

OFTEN = 0.04
"""Seconds between two values of a gauge that pass nothing: a slope over a second and a
half still has some forty of them."""

SELDOM = 0.1
"""The same for a gauge without a limit that has to do with time, or a never-exceed limit."""

MOST = 200
"""Values of one gauge in a second, however they pass limits: twice the fastest feed there is.
What is more is a flood, and must not keep the engine from anything else."""


class Thinning:
    """Which values of one gauge go on."""

    __slots__ = ("_at", "_every", "_left", "_marks", "_next", "_place")

    def __init__(self, gauge: Gauge) -> None:
        figures = (number for limit in gauge.limits for number in _numbers(limit))
        self._marks = sorted({float(number) for number in figures})
        self._every = OFTEN if any(map(_hurried, gauge.limits)) else SELDOM
        self._place = -1
        self._at, self._left = 0.0, float(MOST)
        self._next = float("-inf")

    def passes(self, value: float, at: float) -> bool:
        """Whether this one does."""
        place = bisect_left(self._marks, value) if self._marks else 0
        if at < self._next - 1e-6 and place == self._place:
            return False
        self._left = min(float(MOST), self._left + MOST * (at - self._at))
        self._at = at
        if self._left < 1.0:
            return False
        self._left -= 1.0
        self._place = place
        # On a grid of its own, so that the pace of the feed does not beat against it.
        self._next = max(self._next + self._every, at + self._every / 2)
        return True


def _hurried(limit: Limit) -> bool:
    """Whether what happens within a tenth of a second matters for it."""
    timed = (limit.transient, limit.rate_at_most, limit.fall_at_most)
    return limit.never != Band() or any(one is not None for one in timed)


def _numbers(thing: object) -> Iterator[Decimal]:
    """Every figure in a limit, however deep."""
    if isinstance(thing, Decimal):
        yield thing
    elif is_dataclass(thing):
        for one in fields(thing):
            yield from _numbers(getattr(thing, one.name))
