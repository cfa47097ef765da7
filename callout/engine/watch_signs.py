"""Whether what an event shows is the sign that a phase or a fault waits for.

Rule of this file: a sign is shown by a tick, by words, or by a value of its
gauge; never by time alone. What a blind gauge showed before shows nothing.
"""

from __future__ import annotations

from decimal import Decimal

from callout.checklist.model import Aircraft, Gauge
from callout.checklist.start_watch import GaugeSign, ItemSign, SaidSign, Sign, StartWatch
from callout.engine import trend
from callout.engine.limits import Level, judge, limits_now
from callout.engine.watch_state import Held, Seen, Watch
from callout.words.understand import plain

MOST_LIMITS = 16
"""More limits than a gauge has in one engine state; spaces the numbers of signs."""

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
            watch, there = _gauge(aircraft, spec, watch, sign, seen, now)
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
    aircraft: Aircraft, spec: StartWatch, watch: Watch, sign: GaugeSign, seen: Seen, now: float
) -> tuple[Watch, bool]:
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
        key = MOST_LIMITS * spec.gauge_signs.index(sign)
        return _limits(gauge, state, watch, key, seen.value, now)
    if sign.seconds <= 0.0:
        return watch, holds
    key = MOST_LIMITS * spec.gauge_signs.index(sign)
    return _for_long(watch, key, sign.seconds, now, holds=holds)


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


def _limits(
    gauge: Gauge, state: str, watch: Watch, key: int, value: Decimal, now: float
) -> tuple[Watch, bool]:
    """A never-exceed limit at once, a transient one when its time is over."""
    if judge(gauge, state, value).level is Level.NEVER:
        return watch, True
    for place, limit in enumerate(limits_now(gauge, state)):
        passing = limit.transient
        if passing is None:
            continue
        long, high = passing.seconds, value > passing.above
        watch, over = _for_long(watch, key + place, long, now, holds=high)
        if over:
            return watch, True
    return watch, False


def _for_long(
    watch: Watch, key: int, seconds: float, now: float, *, holds: bool
) -> tuple[Watch, bool]:
    """Whether it has held so long; since when it does is kept."""
    since = next((one.since for one in watch.held if one.sign == key), None)
    if holds and since is not None:
        return watch, now - since >= seconds
    others = tuple(one for one in watch.held if one.sign != key)
    if holds:
        others = (*others, Held(key, now))
    return (watch._replace(held=others) if others != watch.held else watch), False
