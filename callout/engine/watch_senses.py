"""What gauges show, kept for the watch over a start.

Rule of this file: only a number that came by the feed is kept for slopes; a
sensor that is not to be trusted keeps nothing and is known to be blind.
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
    if now - old.at > SILENT_AFTER and watch.held:
        watch = watch._replace(held=())  # nothing is known about that time
    same = old.same if seen.value == old.value and old.blind is None else now
    return _with(watch, place, Sense(now, windows, low, high, value=seen.value, same=same))


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
    event = turn.event
    if isinstance(event, FeedFault):
        if event.kind == "line":
            return watch
        again = turn.now if event.kind == "jumps" else None
        return _all(spec, watch, event.gauge, turn.now, again)
    if isinstance(event, Lost) and event.part == "feed":
        return _all(spec, watch, "", turn.now)
    if isinstance(event, FeedGood) or (isinstance(event, Restored) and event.part == "feed"):
        return _all(spec, watch, getattr(event, "gauge", ""), None)
    return watch


def unwatched(watch: Watch) -> Watch:
    """After a time when nobody looked: what was seen before says nothing."""
    senses = tuple(_emptied(sense)._replace(at=-math.inf, blind=None) for sense in watch.senses)
    return watch._replace(senses=senses, held=())


def _all(
    spec: StartWatch, watch: Watch, gauge: str, blind: float | None, again: float | None = None
) -> Watch:
    """One gauge, or with "" all of them, blind since then or not blind any more."""
    if blind is not None:
        watch = watch._replace(held=())
    for name, place in spec.gauges.items():
        if gauge not in ("", name):
            continue
        old = watch.senses[place]
        if blind is None:
            new = old._replace(blind=None, again=None)
        else:
            since = blind if old.blind is None else old.blind
            new = _emptied(old)._replace(blind=since, again=again or old.again)
        watch = _with(watch, place, new)
    return watch


def _emptied(sense: Sense) -> Sense:
    return sense._replace(windows=tuple(trend.emptied(window) for window in sense.windows))


def _with(watch: Watch, place: int, sense: Sense) -> Watch:
    senses = watch.senses
    return watch._replace(senses=(*senses[:place], sense, *senses[place + 1 :]))
