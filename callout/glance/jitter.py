"""When a phone's sound was caught: frames that come in fits and starts get even times.

Rule of this file: pure. A frame's number tells its place in the sound, the quickest of
the frames tells how late the others are. Sound that is too late is told as such.
"""

from __future__ import annotations

from collections import deque

FRAME = 0.02
"""Seconds of sound in a frame."""

DRIFT = 0.0002 * FRAME
"""How much two clocks may part in the time of a frame (s): 200 parts in a million, twice
what a crystal is bad for (common practice, no source)."""

SHIFT = 0.2
"""Frames that all come so much later (s) were caught later: the microphone paused."""

PACE = 25
"""So many frames at the pace of their own sound are the present, whatever their numbers say."""


class Jitter:
    """The times of one phone's frames."""

    def __init__(self) -> None:
        self._last = -1
        self._zero: float | None = None  # when frame 0 began, had it come at once
        self._latest: deque[tuple[float, float]] = deque(maxlen=PACE)

    def take(self, number: int, now: float) -> tuple[float, float] | None:
        """When this frame began and how late it comes (both s); None for one that was there.

        `now` is the time at which it came.
        """
        if number <= self._last:
            return None
        steps, self._last = number - self._last, number
        zero = now - (number + 1) * FRAME
        self._latest.append((now, zero))
        if self._zero is None or self._shifted(self._zero):
            self._zero = min(one for _, one in self._latest)
        self._zero = min(self._zero + steps * DRIFT, zero)
        began = self._zero + number * FRAME
        return began, now - began - FRAME

    def _shifted(self, before: float) -> bool:
        """Whether the latest frames came as evenly as they were caught, and all much later."""
        if len(self._latest) < PACE:
            return False
        zeros = [zero for _, zero in self._latest]
        took = self._latest[-1][0] - self._latest[0][0]
        even = took >= 0.8 * (PACE - 1) * FRAME and max(zeros) - min(zeros) < SHIFT
        return even and min(zeros) - before > SHIFT
