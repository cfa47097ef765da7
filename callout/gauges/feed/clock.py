"""The sender's time against ours: when a line was sent, and whether that can be trusted.

Rule of this file: pure arithmetic. Lines take their time on the way, never less
than none: so the shortest delay of each second tells how the two clocks stand,
and whether they drift.

  clock  the sender's time goes back, leaps ahead, or runs faster or slower
  late   lines come so long after they were sent that they tell of the past; they
         are no values any more
"""

from __future__ import annotations

from collections import deque

BACK = 0.05
"""Seconds back that a sender's time may go by rounding."""

LEAP = 1.0
"""Seconds that it may get ahead of ours from one line to the next."""

LATE = 2.0
"""Seconds behind the quickest line after which a line tells of the past."""

DRIFT = 0.005
"""Share by which the clocks may drift apart: a wrist watch is hundreds of times better
(common practice, no source)."""

WINDOW, WINDOWS = 1.0, 30
"""Seconds of one window, and how many tell of a drift."""

QUIET = 5.0
"""Seconds without a fault after which it is over."""


class SendersClock:
    """What is known of the sender's clock."""

    def __init__(self) -> None:
        #: faults that stand, with what was seen
        self.faults: dict[str, str] = {}
        #: whether the last line tells of the past
        self.late = False
        self._sent: float | None = None
        self._came = 0.0
        self._given = float("-inf")
        self._bad_at: dict[str, float] = {}
        self._restart()

    def _restart(self) -> None:
        self._shortest: deque[tuple[float, float]] = deque(maxlen=WINDOWS)
        self._window_at = self._came
        self._window = float("inf")
        self._base = float("inf")

    def when(self, sent: float | None, came: float) -> float:
        """When a line was true, in our time: by the sender's clock, if that can be trusted.

        `came` is our time when the line came in. What is given never falls.
        """
        at = came if sent is None else self._by_sender(sent, came)
        self._given = max(self._given, at)
        return self._given

    def _by_sender(self, sent: float, came: float) -> float:
        delay = came - sent
        if self._sent is not None:
            self._look_at_step(sent - self._sent, came - self._came, delay, came)
        # The shortest delay there was, with some room for clocks that drift apart.
        self._base = min(delay, self._base + DRIFT * (came - self._came))
        self._sent, self._came = sent, came
        self._keep(delay, came)
        self.late = delay - self._base > LATE and "clock" not in self.faults
        if self.late:
            self._bad("late", came, f"lines come {delay - self._base:.1f} s after they were sent")
        self._over(came)
        return came if "clock" in self.faults else min(came, sent + self._base)

    def _look_at_step(self, step: float, passed: float, delay: float, came: float) -> None:
        behind = max(0.0, delay + step - passed - self._base)
        if step < -BACK:
            self._bad("clock", came, f"the sender's clock went back by {-step:.2f} s")
        elif step - passed > LEAP + behind:
            self._bad("clock", came, f"the sender's clock leapt ahead by {step - passed:.2f} s")
        else:
            return
        self._restart()

    def _keep(self, delay: float, came: float) -> None:
        if self._window == float("inf"):
            self._window_at = came
        if came - self._window_at >= WINDOW:
            self._shortest.append((self._window_at, self._window))
            self._window_at, self._window = came, float("inf")
            self._look_at_drift(came)
        self._window = min(self._window, delay)

    def _look_at_drift(self, came: float) -> None:
        if len(self._shortest) < WINDOWS:
            return
        half = WINDOWS // 2
        windows = list(self._shortest)
        early, first = min(windows[:half], key=lambda pair: pair[1])
        later, last = min(windows[half:], key=lambda pair: pair[1])
        drift = (last - first) / (later - early)
        if abs(drift) > DRIFT:
            how = "slow" if drift > 0 else "fast"
            self._bad("clock", came, f"the sender's clock runs {abs(drift):.1%} {how}")

    def _bad(self, kind: str, at: float, what: str) -> None:
        self._bad_at[kind] = at
        self.faults.setdefault(kind, what)

    def _over(self, at: float) -> None:
        for kind in [k for k in self.faults if at - self._bad_at[k] > QUIET]:
            del self.faults[kind]
