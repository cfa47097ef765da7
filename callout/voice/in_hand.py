"""How much sound a device should hold: little, and more for one that runs out.

Rule of this file: counts and times in, seconds out; no device is touched.

A device that runs out is first opened anew as it was: ALSA's plugin for
PulseAudio now and then starts in a state in which it tells of running out at
every block, with any amount of sound in hand, and comes out of it that way.
"""

from __future__ import annotations

LEAST = 0.015
"""Seconds of sound at first: every one of them is a wait before each call."""
MOST = 0.06
"""Seconds beyond which more does not help: something else keeps the machine."""
OFTEN = 8
"""So many times in WINDOW is no accident of one busy moment."""
WINDOW = 2.0
"""Seconds over which it is counted."""


class InHand:
    """What one device is asked to hold.

    Fields:
        seconds: of sound
    """

    def __init__(self) -> None:
        self.seconds = LEAST
        self._since = 0.0
        self._before = 0
        self._tried = False  # whether it was opened anew with this much already

    def opened(self, ran_out: int, now: float) -> None:
        """The device runs from now on; how often it ran out while it was opened says nothing."""
        self._since, self._before = now, ran_out

    def open_anew(self, ran_out: int, now: float) -> bool:
        """Whether it ran out (so many times in all) so often that it must be opened anew.

        With `seconds` then: the same once, then twice as much.
        """
        if now - self._since < WINDOW:
            return False
        often = ran_out - self._before >= OFTEN
        self._since, self._before = now, ran_out
        if not often or (self._tried and self.seconds >= MOST):
            return False
        if self._tried:
            self.seconds = min(MOST, 2 * self.seconds)
        self._tried = not self._tried
        return True
