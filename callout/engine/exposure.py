"""Time above a limit that may be passed for a while, added up from samples.

Rule of this file: pure arithmetic. Time counts only between two samples of one
gauge that are no further apart than LONGEST_GAP, along the straight line between
them: of a time when nobody looked nothing is known, so none of it counts.

Two times are kept, because handbooks limit both (common practice, no source):

* `seconds`, of one exposure: it begins when the value goes above, and a dip
  shorter than DIP does not end it, so that neither noise nor a flicker of the
  flame sets the clock back. The time of the dip itself does not count.
* `total`, of all exposures since the engine state began, such as in one start.
"""

from __future__ import annotations

from typing import NamedTuple

from callout.engine.trend import LONGEST_GAP

DIP = 2.0
"""Seconds at or below the limit that end an exposure: the hot metal follows the gas in
seconds, so a shorter dip has cooled nothing (common practice, no source)."""


class Exposure(NamedTuple):
    """How long a value has been above a limit.

    Fields:
        seconds: in this exposure (0 when none is open)
        total: in all exposures
        open: whether an exposure goes on
        below_since: since when (s) the value is at or below, while one goes on
    """

    seconds: float = 0.0
    total: float = 0.0
    open: bool = False
    below_since: float | None = None


NONE = Exposure()


class Sample(NamedTuple):
    """A value and when it was taken (s)."""

    at: float
    value: float


def exposed(so_far: Exposure, limit: float, before: Sample | None, now: Sample) -> Exposure:
    """The exposure with one more sample; `before` is the gauge's last one."""
    joined = before is not None and 0.0 <= now.at - before.at <= LONGEST_GAP
    part = 0.0
    if joined and before is not None:
        part = (now.at - before.at) * share_above(limit, before.value, now.value)
    seconds, total, opened, below_since = so_far
    if part > 0.0 and not opened:
        opened, below_since = True, None
    if opened:
        seconds, total = seconds + part, total + part
    if now.value > limit:
        return Exposure(seconds, total, True)
    if not opened:
        return so_far
    since = below_since if below_since is not None and joined else now.at
    if now.at - since >= DIP or not joined:
        return Exposure(0.0, total)
    return Exposure(seconds, total, True, since)


def share_above(limit: float, first: float, last: float) -> float:
    """What share of the straight line from first to last lies above the limit."""
    if first > limit and last > limit:
        return 1.0
    if first <= limit and last <= limit:
        return 0.0
    return (max(first, last) - limit) / abs(last - first)
