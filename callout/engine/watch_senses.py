"""What gauges show, kept for the watch over a start.

Rule of this file: only a number that came by the feed is kept for slopes; a
sensor that is not to be trusted keeps nothing and is known to be blind. What is
wrong with the feed as a whole is kept beside what is wrong with each sensor: the
end of the one is not the end of the other.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from callout.checklist.start_watch import StartWatch
from callout.engine import trend
from callout.engine.events import FeedFault, FeedGood, Lost, Restored
from callout.engine.turn import Turn
from callout.engine.watch_state import NOTHING, SILENT_AFTER, Seen, Sense, Watch

SETTLED = 0.6
"""Seconds without a break after which a sensor that jumped is believed again: less than
the second in which a fault must be called."""

BREAK = 0.3
"""Seconds between two values that are a break, of a sensor that jumps."""


def fresh(spec: StartWatch) -> tuple[Sense, ...]:
    """Nothing seen yet."""
    return tuple(
        Sense(windows=tuple(trend.Window(seconds=span) for span in spec.spans[gauge]))
        for gauge in spec.gauges
    )


def begun(senses: Iterable[Sense]) -> tuple[Sense, ...]:
    """The same when the starter goes on: lowest and highest are those of the start."""
    return tuple(sense._replace(lowest=None, highest=None) for sense in senses)


def taken(spec: StartWatch, watch: Watch, seen: Seen, now: float) -> Watch:
    """The watch with one value more."""
    place = spec.gauges.get(seen.gauge)
    if place is None or seen.value is None:
        return watch
    old = watch.senses[place]
    low, high = old.lowest, old.highest
    if low is None or high is None:
        low = high = seen.value
    elif seen.value < low:
        low = seen.value
    elif seen.value > high:
        high = seen.value
    if seen.spoken:
        return _with(watch, place, old._replace(lowest=low, highest=high))
    value = float(seen.value)
    windows = tuple([trend.add(window, now, value) for window in old.windows])
    gap = now - old.at > SILENT_AFTER
    if gap:
        watch = _let_go(spec, watch, seen.gauge)  # nothing is known about that time
    same = old.same if seen.value == old.value and not gap and old.blind is None else now
    new = old._replace(
        at=now, windows=windows, lowest=low, highest=high, value=seen.value, same=same
    )
    return _with(watch, place, new)


def believed(spec: StartWatch, watch: Watch, seen: Seen, now: float) -> tuple[Watch, Seen]:
    """A sensor that jumps is believed again when its values have come for SETTLED seconds."""
    place = spec.gauges.get(seen.gauge)
    if place is None or seen.spoken:
        return watch, seen
    sense = watch.senses[place]
    if sense.again is None:
        return watch, seen
    if now - sense.at > BREAK:
        return _with(watch, place, sense._replace(at=now, again=now)), NOTHING
    if now - sense.again < SETTLED:
        return _with(watch, place, sense._replace(at=now)), NOTHING
    return watch, seen


def trusted(turn: Turn, spec: StartWatch, watch: Watch) -> Watch:
    """The watch after an event that tells of sensors."""
    event, now = turn.event, turn.now
    if isinstance(event, FeedFault) and event.kind != "line":
        if not event.gauge:
            return _feed_wrong(spec, watch, now)
        return _sensor_wrong(spec, watch, event.gauge, now, jumps=event.kind == "jumps")
    if isinstance(event, Lost) and event.part == "feed":
        return _feed_wrong(spec, watch, now)
    if isinstance(event, FeedGood) and event.gauge:
        place = spec.gauges.get(event.gauge)
        if place is None:
            return watch
        return _with(watch, place, watch.senses[place]._replace(blind=None, again=None))
    if isinstance(event, FeedGood) or (isinstance(event, Restored) and event.part == "feed"):
        return watch._replace(senses=tuple(one._replace(lost=None) for one in watch.senses))
    return watch


def unwatched(watch: Watch) -> Watch:
    """After a time when nobody looked: what was seen before says nothing."""
    senses = tuple(
        _emptied(sense)._replace(at=-math.inf, blind=None, lost=None, again=None)
        for sense in watch.senses
    )
    return watch._replace(senses=senses, held=())


def _sensor_wrong(spec: StartWatch, watch: Watch, gauge: str, now: float, *, jumps: bool) -> Watch:
    place = spec.gauges.get(gauge)
    if place is None:
        return watch
    old = watch.senses[place]
    since = now if old.blind is None else old.blind
    new = _emptied(old)._replace(blind=since, again=now if jumps else old.again)
    return _with(_let_go(spec, watch, gauge), place, new)


def _feed_wrong(spec: StartWatch, watch: Watch, now: float) -> Watch:
    senses = tuple(
        _emptied(old)._replace(lost=now if old.lost is None else old.lost) for old in watch.senses
    )
    return watch._replace(senses=senses, held=())


def _let_go(spec: StartWatch, watch: Watch, gauge: str) -> Watch:
    """The watch without what this gauge held: of others nothing changes."""
    held = tuple(one for one in watch.held if spec.gauge_signs[one.sign].gauge != gauge)
    return watch if len(held) == len(watch.held) else watch._replace(held=held)


def _emptied(sense: Sense) -> Sense:
    windows = tuple(trend.emptied(window) for window in sense.windows)
    return sense._replace(windows=windows, value=None, same=math.inf)


def _with(watch: Watch, place: int, sense: Sense) -> Watch:
    senses = watch.senses
    return watch._replace(senses=(*senses[:place], sense, *senses[place + 1 :]))
