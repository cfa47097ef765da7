"""How much is too much: a bucket that fills with time, one for each address.

Rule of this file: pure arithmetic on a clock that is given; memory is bounded.
"""

from __future__ import annotations

from collections import OrderedDict

MOST_ADDRESSES = 256


class Bucket:
    """Lets `burst` things through at once, and `rate` a second in the long run."""

    def __init__(self, rate: float, burst: float, now: float) -> None:
        self._rate = rate
        self._burst = burst
        self._held = burst
        self._at = now

    def takes(self, now: float) -> bool:
        """Whether one more is let through at clock time `now` (s)."""
        self._held = min(self._burst, self._held + max(0.0, now - self._at) * self._rate)
        self._at = max(self._at, now)
        if self._held < 1.0:
            return False
        self._held -= 1.0
        return True


class Meter:
    """A bucket for each address; of those not seen for long, none."""

    def __init__(self, rate: float, burst: float) -> None:
        self._rate = rate
        self._burst = burst
        self._buckets: OrderedDict[str, Bucket] = OrderedDict()

    def takes(self, who: str, now: float) -> bool:
        """Whether one more from `who` is let through at clock time `now` (s)."""
        bucket = self._buckets.get(who) or Bucket(self._rate, self._burst, now)
        self._buckets[who] = bucket
        self._buckets.move_to_end(who)
        if len(self._buckets) > MOST_ADDRESSES:
            self._buckets.popitem(last=False)
        return bucket.takes(now)
