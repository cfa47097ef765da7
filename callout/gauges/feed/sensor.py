"""One gauge of a feed: whether a number is a value.

Rule of this file: pure arithmetic on numbers and times. What is no value is
None; that, and when values count again, is noted in `news`. A number is passed
on as it came or not at all: nothing is smoothed, filled in or held.

  no number     NaN or infinite
  out of range  more than a little beyond what the gauge can show
  jumps         a step that the machine cannot make in that time. Believed all the
                same when what follows it agrees with it for SETTLED seconds: a
                plug that is pushed in again is a jump as well
  stuck         one and the same number for a time in which others moved, from a
                sensor whose last digits moved before
  silent        nothing at all for a time

A fault is noted once, and is over after a quiet time: QUIET seconds, and twice
as long each further time, so that a loose plug does not talk all day. Values
that are sound pass meanwhile; only a stuck or wandering sensor gives none.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from callout.checklist.model import Gauge

SLACK = 0.015
"""Share of the range by which a number may step at once, whatever the rate: noise."""

NOISY = 8.0
"""Times the usual step from sample to sample that is noise still."""

BEYOND = 0.02
"""Share of the range beyond its ends that a sensor's noise about an end may reach."""

WANDERING = 0.06
"""Share of the fastest change that the true value may have made behind a jump."""

SETTLED = 2.0
"""Seconds for which a new level must hold before a jump to it is believed."""

STUCK = 2.0
"""Seconds of the same number from a sensor that had noise."""

LIVELY = 0.3
"""Share of samples that turned back from the way the one before had gone, above which a
sensor has noise: two thirds do in white noise, next to none where a needle moves."""

UNLIKELY = 14.0
"""So many turns must have failed to come: once in a million times by chance (exp -14)."""

SILENT, SAMPLES_MISSED = 1.0, 3.5
"""Seconds without a value; at a slow feed so many of its intervals."""

QUIET, LONGEST_QUIET = 2.0, 60.0
"""Seconds without a fault after which a sensor works again; doubled each time."""

_FASTEST = {
    "degC": 2.0, "°C": 2.0, "degF": 2.0, "°F": 2.0, "%": 1.0, "rpm": 1.0,
    "bar": 2.0, "mbar": 2.0, "Pa": 2.0, "hPa": 2.0, "kPa": 2.0, "psi": 2.0, "inHg": 2.0,
    "l": 1.0, "gal": 1.0, "qt": 1.0, "kg": 1.0, "g": 1.0, "lb": 1.0,
}  # fmt: skip
"""Unit -> shares of the whole range that can change in a second, where the file does
not say (common practice, no source).  A step of volts, amperes or watts is real."""


class News(NamedTuple):
    """Something to tell: a kind of fault and what was seen, or kind "" for good again."""

    kind: str
    what: str = ""


@dataclass(slots=True)
class _Leap:
    """A level that was jumped to and is not believed yet."""

    value: float
    at: float
    since: float


class Sensor:
    """What is known of one gauge's sensor; times are seconds that never fall."""

    __slots__ = (
        "_bad_at", "_base", "_declared", "_high", "_interval", "_last", "_last_at", "_leap",
        "_lively", "_lively_before", "_low", "_quiet", "_rate", "_same", "_same_since",
        "_silent_after", "_slack", "_step", "_stuck", "_stuck_after", "_unit", "_up",
        "faults", "gauge", "news", "seen_at",
    )  # fmt: skip

    def __init__(self, gauge: Gauge, now: float = 0.0) -> None:
        low, high = gauge.possible.at_least, gauge.possible.at_most
        assert low is not None
        assert high is not None
        self.gauge = gauge.id
        #: what has been found since it was last asked
        self.news: list[News] = []
        #: kinds of the faults that stand
        self.faults: set[str] = set()
        #: when anything at all came
        self.seen_at = now
        self._unit = gauge.unit
        self._low, self._high = float(low), float(high)
        width = self._high - self._low
        share = _FASTEST.get(gauge.unit)
        own = float(gauge.feed.rate) if gauge.feed.rate is not None else None
        self._rate = own if own is not None else share * width if share is not None else None
        self._slack, self._base = SLACK * width, BEYOND * width
        self._declared = gauge.feed.stuck_after is not None
        self._stuck_after = gauge.feed.stuck_after or STUCK
        self._silent_after = gauge.feed.silent_after or SILENT
        self._quiet = QUIET
        self._bad_at = now
        self._interval = 0.0
        self._last: float | None = None
        self._last_at = now
        self._leap: _Leap | None = None
        self._step = 0.0
        self._lively = self._lively_before = 0.0
        self._same, self._same_since = 0, now
        self._stuck = self._up = False

    def take(self, value: float | None, at: float) -> float | None:
        """The value, if it is one."""
        if value is None:
            return None
        if value - value != 0.0:
            self._bad("no number", at, f"gives {value}")
            return None
        self._interval += 0.05 * (min(at - self.seen_at, 5.0) - self._interval)
        self.seen_at = at
        if value < self._low or value > self._high:
            near = min(max(value, self._low), self._high)
            if abs(value - near) > self._base:
                shown = f"{self._low:g} to {self._high:g} {self._unit}"
                self._bad("out of range", at, f"gives {value:.5g}, beyond {shown}")
                return None
            value = near
        if self._last is not None and self._jumps(value, at, self._last):
            return None
        self._alive(value, at)
        self._last, self._last_at, self._leap = value, at, None
        if self.faults:
            self._recover(at)
        return None if self._stuck else value

    def _jumps(self, value: float, at: float, last: float) -> bool:
        """Whether this is a step the machine cannot make; a new level is believed in time."""
        step = abs(value - last)
        if self._rate is None or step <= self._slack:
            self._step += 0.02 * (step - self._step)
            return False
        held = self._same_since if self._stuck else self._last_at
        since = max(at - held, self._interval)
        reach = max(self._slack, NOISY * self._step)
        share = WANDERING if self._leap else 1.0
        if step <= reach + self._rate * since * share:
            self._step += 0.02 * (min(step, 4.0 * reach) - self._step)
            return False
        leap = self._leap
        if leap is None or abs(value - leap.value) > reach + self._rate * (at - leap.at):
            self._leap = _Leap(value, at, at)
        else:
            leap.value, leap.at = value, at
            if at - leap.since >= SETTLED:
                return False
        self._bad("jumps", at, f"from {last:.5g} to {value:.5g} {self._unit} in {since:.3g} s")
        return True

    def _alive(self, value: float, at: float) -> None:
        """Keep track of its noise, and of how long the very same number has come."""
        if value == self._last:
            if self._same == 0:
                self._lively_before = self._lively
            self._same += 1
            self._lively -= 0.02 * self._lively
            return
        up = self._last is not None and value > self._last
        self._lively += 0.02 * ((up is not self._up) - self._lively)
        self._up = up
        if self._stuck:
            self._bad_at = at
        self._same, self._same_since, self._stuck = 0, at, False

    def frozen(self, at: float) -> bool:
        """Whether it has given one number for longer than a sound sensor of its kind would.

        A number at the end of the range, or zero, is what a machine at rest shows.
        """
        if not self._same or at - self._same_since < self._stuck_after:
            return False
        noisy = self._lively_before > LIVELY and self._same * self._lively_before > UNLIKELY
        return (self._declared or noisy) and self._last not in (self._low, self._high, 0.0)

    def moved_since(self, at: float) -> bool:
        """Whether its number has changed after that time."""
        return self._last is not None and self._same_since > at

    @property
    def same_since(self) -> float:
        """Since when it gives the same number (s)."""
        return self._same_since

    def hold(self) -> None:
        """The whole feed stands still: nothing of it is a value until it moves."""
        self._stuck = True

    def call_stuck(self, at: float) -> None:
        """Others moved while this one did not."""
        self._stuck = True
        seconds = at - self._same_since
        what = f"gives {self._last:.5g} {self._unit} and nothing else for {seconds:.0f} s"
        self._bad("stuck", at, what)

    def look(self, at: float) -> None:
        """Time has passed: whether it is silent."""
        patience = max(self._silent_after, SAMPLES_MISSED * self._interval)
        if at - self.seen_at > patience:
            self._bad("silent", at, f"gives nothing, {at - self.seen_at:.1f} s")
            self._leap = None

    def refuse(self, kind: str, at: float, what: str) -> None:
        """Something outside found that it is not to be trusted."""
        self._bad(kind, at, what)

    def _bad(self, kind: str, at: float, what: str) -> None:
        self._bad_at = at
        if kind not in self.faults:
            self.faults.add(kind)
            self.news.append(News(kind, what))

    def _recover(self, at: float) -> None:
        if self._stuck or at - self._bad_at < self._quiet:
            return
        self.faults.clear()
        self._quiet = min(2.0 * self._quiet, LONGEST_QUIET)
        self.news.append(News(""))
