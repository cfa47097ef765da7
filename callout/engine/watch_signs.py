"""Whether what an event shows is the sign that a phase or a fault waits for.

Rule of this file: a sign is shown by a tick, by words, or by a value of its
gauge; never by time alone. What a blind gauge showed before shows nothing.

A sign that has to hold for a while outlasts noise: once it has held for DIP, a dip of
its gauge that is no longer than that and no deeper than the gauge's jitter does not begin
it anew. Without that a speed that creeps into its band counts a second late, when all its
noise is in; and a first touch by noise alone does not count, which would be too early.
What shows one and the same number, as a lamp does, has held since then, though it was
looked for only when the words that told of it were over; but not since before they began.
"""

from __future__ import annotations

from decimal import Decimal

from callout.checklist.model import Aircraft, Band
from callout.checklist.start_watch import GaugeSign, ItemSign, SaidSign, Sign, StartWatch
from callout.engine import trend
from callout.engine.limit_findings import jitter
from callout.engine.limits import Level, judge
from callout.engine.watch_state import Held, Seen, Watch
from callout.words.understand import plain

DIP = 0.3
"""Seconds outside, by no more than the jitter, that do not end what has to hold: two or
three samples of a slow feed, and less than any time worth writing down (common practice,
no source)."""

LEAST_OF_A_STALL = 0.8
"""Share of its time that a window must reach over before it shows that something hangs."""


def shown(
    aircraft: Aircraft, spec: StartWatch, watch: Watch, signs: tuple[Sign, ...], seen: Seen,
    now: float, since: float,
) -> tuple[Watch, bool]:  # fmt: skip
    """Whether any one of the signs is shown; the watch, which keeps since when some hold.

    `since` is when they began to be looked for: what hung before does not count.
    """
    for sign in signs:
        if isinstance(sign, GaugeSign):
            if sign.gauge != seen.gauge or seen.value is None:
                continue
            if sign.rises_less_than is not None and now - since < sign.over:
                continue
            watch, there = _gauge(aircraft, spec, watch, sign, seen, now, since)
        elif isinstance(sign, ItemSign):
            there = sign.item in watch.ticked
        else:
            there = _said(sign, seen.words)
        if there:
            return watch, True
    return watch, False


def _said(sign: SaidSign, words: str) -> bool:
    return bool(words) and plain(words) in map(plain, sign.said)


def _gauge(
    aircraft: Aircraft, spec: StartWatch, watch: Watch, sign: GaugeSign, seen: Seen, now: float,
    since: float,
) -> tuple[Watch, bool]:  # fmt: skip
    assert seen.value is not None
    gauge = aircraft.gauge(sign.gauge)
    state = aircraft.list(spec.list_id).engine_state
    if seen.spoken:
        # Nobody calls a slope; what has to last is called when it has settled.
        never = sign.limits and judge(gauge, state, seen.value).level is Level.NEVER
        there = not sign.by_slope and sign.band.holds(seen.value)
        return watch, there and (never or not sign.limits)
    holds = sign.band.holds(seen.value) and _slopes(spec, watch, sign)
    if sign.limits:
        return watch, seen.too_long or judge(gauge, state, seen.value).level is Level.NEVER
    if sign.seconds <= 0.0:
        return watch, holds
    near = holds or (not sign.by_slope and _within(sign.band, jitter(gauge), seen.value))
    same = watch.senses[spec.gauges[sign.gauge]].same
    begin = max(since, min(same, now))
    held = Held(spec.place(sign), min(begin, now), now)
    return _for_long(watch, held, sign.seconds, holds=holds, near=near)


def _slopes(spec: StartWatch, watch: Watch, sign: GaugeSign) -> bool:
    """Whether every slope that the sign names is there."""
    if not sign.by_slope:
        return True
    sense = watch.senses[spec.gauges[sign.gauge]]
    window = sense.windows[spec.spans[sign.gauge].index(sign.over)]
    line = trend.fit(window)
    if line is None:
        return False
    if sign.rises_less_than is not None:
        long_enough = line.span >= LEAST_OF_A_STALL * sign.over
        return long_enough and line.slope < float(sign.rises_less_than) and not _frozen(window)
    if sign.rises is not None and not (line.steady and line.slope >= float(sign.rises)):
        return False
    if sign.falls is not None and not (line.steady and -line.slope >= float(sign.falls)):
        return False
    return sign.heads_for is None or _heads_for(window, line, sign.heads_for, sign.ahead)


def _frozen(window: trend.Window) -> bool:
    """One and the same number for a third of the window: that may be a stuck sensor."""
    latest = window.bins[-max(1, len(window.bins) // 3) :]
    return all(one.vv == 0.0 and one.value == latest[0].value for one in latest)


def _heads_for(window: trend.Window, line: trend.Fit, level: Decimal, ahead: float) -> bool:
    if not line.steady or line.slope <= 0.0:
        return False
    there = trend.ahead(window, ahead)
    return there is not None and there >= float(level)


def _within(band: Band, by: Decimal, value: Decimal) -> bool:
    """Whether the value lies no further than this outside of the band."""
    low, high = band.at_least, band.at_most
    return (low is None or value >= low - by) and (high is None or value <= high + by)


def _for_long(
    watch: Watch, new: Held, seconds: float, *, holds: bool, near: bool
) -> tuple[Watch, bool]:
    """Whether it has held so long; since when it does, and when it was last seen to, is kept.

    `new` is what is kept if it was not kept before.
    """
    now = new.seen
    old = next((one for one in watch.held if one.sign == new.sign), None)
    if not holds and near and old is not None and _settled(old, now):
        return watch, False
    others = tuple(one for one in watch.held if one.sign != new.sign)
    if not holds:
        return (watch._replace(held=others) if old is not None else watch), False
    kept = new if old is None else old._replace(seen=now)
    return watch._replace(held=(*others, kept)), now - kept.since >= seconds


def _settled(old: Held, now: float) -> bool:
    """Whether it had held long enough to outlast a dip, and this dip is short enough."""
    return old.seen - old.since >= DIP and now - old.seen <= DIP
