"""Rates, and limits seen ahead: what the slope of a gauge tells about one limit.

Rule of this file: pure, and only from a steady slope (trend.py): neither noise
nor a jump nor a single wild sample is taken for one. What is found stands until
it was not seen for QUIET seconds, so that it is called once.
"""

from __future__ import annotations

from typing import NamedTuple

from callout.checklist.model import Gauge, Limit
from callout.engine import trend
from callout.engine.exposure import Sample
from callout.engine.limit_findings import Finding, Kind, ends, jitter
from callout.engine.trend import Fit, Window

QUIET = 5.0
"""Seconds without its cause after which a finding is over, and the next one a new case: long
enough that a feed of 1 Hz, its noise astride a limit, is not called every few seconds
(common practice, no source)."""

LOOK_AHEAD = 0.5
"""Seconds before a never-exceed limit would be passed at which it is said, if the owner gave
no other time; the window is as long as the look. A light-off rises by hundreds of degrees
a second whether it ends well or not: with a longer look good starts are called, with a
shorter one little time is won (`callout bench limits`)."""

CLEAREST = 5
"""Fewest samples in a window that is looked ahead from ..."""

LOOSEST = 1.7
"""... and how many times as long as the look they may lie apart: a look of half a second needs
a feed of 5 Hz, at 1 Hz a look takes two and a half seconds. A slower feed shows no curve."""

LEAST_RISE = 2
"""A rise over the window by less than so many times the jitter is not fast: at the default
jitter, four hundredths of the gauge's range in a second."""

RATE_SECONDS = 1.0
"""A rate per second is taken over a second or, if it is small, over the time in which the value
moves by RATE_RISE times the jitter at that rate."""

RATE_RISE = 4


class Watch(NamedTuple):
    """A slope under watch.

    Fields:
        window: its samples
        least: a smaller change over the window is of no interest, gauge units
        found: what stands
        quiet_since: since when (s) it is not seen any more
    """

    window: Window
    least: float
    found: Finding | None = None
    quiet_since: float | None = None


def look_ahead(gauge: Gauge, limit: Limit) -> Watch | None:
    """A watch for a never-exceed limit ahead; None if there is none, or none is wanted."""
    seconds = LOOK_AHEAD if limit.look_ahead is None else limit.look_ahead
    if seconds <= 0.0 or ends(limit) == (None, None):
        return None
    return Watch(Window(seconds=seconds, least=CLEAREST), LEAST_RISE * float(jitter(gauge)))


def rates(gauge: Gauge, limit: Limit) -> Watch | None:
    """A watch for the rates that a limit allows; None if it says nothing about them."""
    given = [one for one in (limit.rate_at_most, limit.fall_at_most) if one is not None]
    if not given:
        return None
    seconds = max(RATE_SECONDS, float(RATE_RISE * jitter(gauge) / min(given)))
    return Watch(Window(seconds=seconds), float(min(given)) * seconds)


def emptied(watch: Watch | None) -> Watch | None:
    """The watch without its samples: of a time that nobody looked nothing is known."""
    return None if watch is None else watch._replace(window=trend.emptied(watch.window))


def followed(watch: Watch, limit: Limit, kind: Kind, now: Sample) -> Watch:
    """The watch with one more sample; the kind is that of what it can find."""
    window = trend.add(watch.window, now.at, now.value)
    seen = None
    if _moves(window, watch.least):
        line = trend.fit(window)
        if line is not None and line.steady:
            look = _ahead if kind is Kind.AHEAD else _rate
            seen = look(watch, limit, window, line)
    return _after(watch, window, seen, now.at)


def _moves(window: Window, least: float) -> bool:
    """Whether it is worth while to look closer: a few times cheaper than a slope.

    The least-squares rise over a window is at most one and a half times the
    difference between its ends if the value only rises (or only falls).
    """
    bins = window.bins
    return 2.0 * abs(bins[-1].value - bins[0].value) >= least


def _after(watch: Watch, window: Window, seen: Finding | None, at: float) -> Watch:
    _, least, found, quiet_since = watch
    if found is not None and quiet_since is not None and at - quiet_since >= QUIET:
        found = None
    if seen is None:
        if found is None:
            return Watch(window, least)
        gone = found._replace(seen=0.0)
        return Watch(window, least, gone, at if quiet_since is None else quiet_since)
    if found is None or found.side != seen.side:
        return Watch(window, least, seen)
    return Watch(window, least, seen._replace(since=found.since))


def _ahead(watch: Watch, limit: Limit, window: Window, line: Fit) -> Finding | None:
    seconds, by = window.seconds, watch.least / LEAST_RISE
    if line.span > LOOSEST * seconds:
        return None
    there = trend.ahead(window, seconds)
    if there is None or abs(line.slope) * line.span <= watch.least:
        return None
    lowest, highest = ends(limit)
    at = window.latest
    if line.slope > 0.0 and highest is not None and there > float(highest) + by:
        return Finding(Kind.AHEAD, limit.state, "above", highest, at, seconds, line.slope)
    if line.slope < 0.0 and lowest is not None and there < float(lowest) - by:
        return Finding(Kind.AHEAD, limit.state, "below", lowest, at, seconds, line.slope)
    return None


def _rate(watch: Watch, limit: Limit, window: Window, line: Fit) -> Finding | None:
    del watch
    rise, fall, at = limit.rate_at_most, limit.fall_at_most, window.latest
    if rise is not None and line.slope > float(rise):
        return Finding(Kind.RATE, limit.state, "above", rise, at, seen=line.slope)
    if fall is not None and -line.slope > float(fall):
        return Finding(Kind.RATE, limit.state, "below", fall, at, seen=-line.slope)
    return None
