"""When the watch over a start wants to be asked: its time limits as deadlines.

Rule of this file: as timers.py: times are session seconds given from outside.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from callout.checklist.model import Aircraft
from callout.checklist.start_watch import GaugeSign, Phase, StartFault, StartWatch
from callout.engine.state import SessionState
from callout.engine.watch_state import WAITING, Watch

GRACE = 6.0
"""Seconds that a pilot gets to call a value when the gauge that decides stops showing
it: he is told, looks, and speaks. Common practice, no source."""

WAITS, LATE = 0.5, 0.3
"""Seconds that a time which is up waits at the most for the sign that ends it to have held
long enough, and for its last sample: together less than the second within which it must be
called."""


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
        due = watch.since + phase.within
        blind = unseen_since(spec, watch, phase, now)
        if watch.asked and blind is not None:
            due = max(due, blind + GRACE)
        yield due, spec.fault(phase.missed)
    for fault in spec.looked_for[watch.phase]:
        if fault.longest is not None:
            begin = watch.begin_of(spec.first_of(fault))
            since = max(begin, watch.counted_since(fault.id) or begin)
            if since < math.inf:
                yield _longest(spec, watch, fault, since + fault.longest), fault


def _longest(spec: StartWatch, watch: Watch, fault: StartFault, due: float) -> float:
    """When its time is up: a moment later where, just in time, its end is being shown."""
    for sign in fault.stops:
        if isinstance(sign, GaugeSign) and sign.seconds > 0.0:
            key = spec.gauge_signs.index(sign)
            shows = next((one.since for one in watch.held if one.sign == key), math.inf)
            if shows <= due:
                return max(due, shows + min(sign.seconds, WAITS) + LATE)
    return due


def unseen_since(spec: StartWatch, watch: Watch, phase: Phase, now: float) -> float | None:
    """Since when a gauge that decides this phase is not seen any more; None if all are."""
    gauges = {s.gauge for s in phase.until if isinstance(s, GaugeSign) and not s.by_slope}
    since = (watch.senses[spec.gauges[gauge]].unseen_since(now) for gauge in gauges)
    return max((at for at in since if at is not None), default=None)
