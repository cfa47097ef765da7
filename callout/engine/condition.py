"""An awaited condition against what the gauge feed shows.

Rule of this file: a condition is met by a reading and by nothing else, and only
after readings have shown it to hold for its whole time. Time alone never meets
it (invariant 6), and nothing is assumed about a time when nobody looked.
"""

from __future__ import annotations

from callout.checklist.model import Aircraft, Await
from callout.engine.events import Reading
from callout.engine.limits import Level, judge
from callout.engine.state import SessionState, current


def awaited(aircraft: Aircraft, state: SessionState) -> Await | None:
    """The condition that the item in hand waits for, whatever is being said about it."""
    if state.run is None or state.item is None:
        return None
    task = current(aircraft, state)[1].task
    return task if isinstance(task, Await) else None


def held_from(aircraft: Aircraft, state: SessionState, event: Reading) -> float | None:
    """Since when (s) the awaited condition holds, this reading included; None if it does not."""
    task = awaited(aircraft, state)
    if task is None or task.condition.gauge != event.gauge:
        return state.held_since
    if not _fulfils(aircraft, state, task, event):
        return None
    return _taken(state, event) if state.held_since is None else state.held_since


def reached(aircraft: Aircraft, state: SessionState, event: Reading) -> bool:
    """Whether this reading is the one that fulfils the awaited condition."""
    task = awaited(aircraft, state)
    if task is None or task.condition.gauge != event.gauge:
        return False
    since = held_from(aircraft, state, event)
    return since is not None and _taken(state, event) - since >= task.condition.seconds


def _taken(state: SessionState, event: Reading) -> float:
    """When it was read off: several that come at once, after a delay, were not there at once."""
    return min(event.at, state.now)


def _fulfils(aircraft: Aircraft, state: SessionState, task: Await, event: Reading) -> bool:
    """In the band, and no never-exceed limit passed: as for a spoken value."""
    if not event.value.is_finite():
        return False
    gauge = aircraft.gauge(task.condition.gauge)
    engine_state = current(aircraft, state)[0].engine_state
    verdict = judge(gauge, engine_state, event.value, task.condition.band)
    return verdict.level in (Level.NORMAL, Level.CAUTION)
