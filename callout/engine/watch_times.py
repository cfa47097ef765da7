"""When the watch over a start wants to be asked: its time limits as deadlines.

Rule of this file: as timers.py: times are session seconds given from outside.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from callout.checklist.model import Aircraft
from callout.checklist.start_watch import GaugeSign, Phase, Sign, StartFault, StartWatch
from callout.engine.state import SessionState
from callout.engine.watch_state import WAITING, Watch

GRACE = 6.0
"""Seconds that a pilot gets to call a value when the gauge that decides stops showing
it: he is told, looks, and speaks. Common practice, no source."""

WAITS, LATE = 0.5, 0.3
"""Seconds that a time which is up waits at the most for the sign that ends it to have held
long enough, and for its last sample: together less than the second within which it must be
called."""

ANSWER, WORDS, VALUE = 0.4, 0.9, 2.0
"""Seconds that a time which is up waits for words under way, where no gauge is seen to tell
it: an answer where none could, a word or two, or where only a value can, the gauge's name
and its digits. What a pilot tells was so when he began to speak, so that a call which cut
off his words would be wrong. Common practice, no source: about 0.35 s a word."""


def runs(spec: StartWatch, watch: Watch | None) -> bool:
    """Whether the starter is or was on, and the start is not over."""
    return watch is not None and WAITING < watch.phase < len(spec.phases)


def deadline(aircraft: Aircraft, state: SessionState) -> float | None:
    """Session time of the next time limit of the watch; None for none."""
    spec, watch = aircraft.start_watch, state.watch
    if spec is None or watch is None or not runs(spec, watch):
        return None
    due = [at for at, _ in limits(spec, watch, state.now)]
    return min(due, default=None)


def limits(spec: StartWatch, watch: Watch, now: float) -> Iterator[tuple[float, StartFault]]:
    """Every time limit that runs: when it is up, and what fault it is then."""
    phase = spec.phases[watch.phase]
    if phase.within is not None and phase.missed:
        yield _up(spec, watch, phase, now), spec.fault(phase.missed)
    for fault in spec.looked_for[watch.phase]:
        if fault.longest is not None:
            begin = watch.begin_of(spec.first_of(fault))
            since = max(begin, watch.counted_since(fault.id) or begin)
            if since < math.inf:
                yield _longest(spec, watch, fault, since + fault.longest, now), fault


def _up(spec: StartWatch, watch: Watch, phase: Phase, now: float) -> float:
    """When this phase has taken too long: later where words have to tell that it is over."""
    due = watch.since + (phase.within or 0.0)
    if now < due:
        return due  # who is seen then is seen then
    blind = unseen_since(spec, watch, phase, now)
    if blind is not None and not watch.asked and due < blind + GRACE:
        return due  # it is asked for aloud then
    heard = due + _words(spec, watch, phase.until, now)
    return heard if blind is None or not watch.asked else max(heard, blind + GRACE)


def told_too_late(spec: StartWatch, watch: Watch, at: float, now: float) -> bool:
    """Whether what ends the phase that lasts was so only after its time, which waited for words."""
    phase = spec.phases[watch.phase]
    if phase.within is None or not phase.missed:
        return False
    due = watch.since + phase.within
    blind = unseen_since(spec, watch, phase, now)
    if watch.asked and blind is not None:
        due = max(due, blind + GRACE)
    return at > due


def _words(spec: StartWatch, watch: Watch, signs: tuple[Sign, ...], now: float) -> float:
    """How long words take that can tell it; 0 while a gauge is seen that would."""
    gauges = {one.gauge for one in signs if isinstance(one, GaugeSign) and not one.by_slope}
    if any(watch.senses[spec.gauges[gauge]].seen(now) for gauge in gauges):
        return 0.0
    if not gauges:
        return ANSWER
    return VALUE if all(isinstance(one, GaugeSign) for one in signs) else WORDS


def _longest(spec: StartWatch, watch: Watch, fault: StartFault, due: float, now: float) -> float:
    """When its time is up: a moment later where, just in time, its end is being shown."""
    if now < due:
        return due
    for sign in fault.stops:
        if isinstance(sign, GaugeSign) and sign.seconds > 0.0:
            key = spec.place(sign)
            shows = next((one.since for one in watch.held if one.sign == key), math.inf)
            if shows <= due:
                return max(due, shows + min(sign.seconds, WAITS) + LATE)
    last = max(place for place, one in enumerate(spec.phases) if one.id in fault.during)
    return due + _words(spec, watch, (*fault.stops, *spec.phases[last].until), now)


def unseen_since(spec: StartWatch, watch: Watch, phase: Phase, now: float) -> float | None:
    """Since when a gauge that decides this phase is not seen any more; None if all are."""
    gauges = {s.gauge for s in phase.until if isinstance(s, GaugeSign) and not s.by_slope}
    since = (watch.senses[spec.gauges[gauge]].unseen_since(now) for gauge in gauges)
    return max((at for at in since if at is not None), default=None)
