"""Deadlines as numbers: when something is due, and what.

Rule of this file: times are session seconds given from outside; nothing here
reads a clock, so a timer cannot run backwards (invariant 7: the session never
lets `now` fall).
"""

from __future__ import annotations

from dataclasses import replace
from enum import Enum

from callout.checklist.model import Aircraft, Wait
from callout.engine import duties_times, watch_times
from callout.engine.rules import State
from callout.engine.state import SessionState, Timer, current


class Due(Enum):
    """What a deadline is for."""

    ANSWER = "no answer"
    MARK = "mark of a timed wait"
    WAIT = "end of a timed wait"
    LIMIT = "time limit of a condition"
    ALERT = "a warning is to be said again"
    START = "a time limit of the watch over a start"
    SQUAWK = "the end of a squawk"
    DUTY = "a call of the cool-down or of a counter"


#: In these an answer is not waited for, however long it takes.
PATIENT = frozenset(
    {
        State.CLOSED,
        State.STANDING_BY,
        State.HOLDING,
        State.TIMING,
        State.SQUAWKING,
        State.ENDED,
    }
)


def deadlines(aircraft: Aircraft, state: SessionState) -> list[tuple[float, Due]]:
    """All that is due, earliest first."""
    found: list[tuple[float, Due]] = []
    if state.mode is not State.ENDED:
        # Before the timed wait that ends with it, so that the wait is what is said.
        found += [(at, Due.DUTY) for at in duties_times.deadlines(aircraft, state.duties)]
    if state.answer_due is not None and state.mode not in PATIENT:
        found.append((state.answer_due, Due.ANSWER))
    if state.timer is not None and (not state.timer.over or state.mode is State.TIMING):
        found += _timer_deadlines(aircraft, state, state.timer)
    if state.mode is not State.ENDED:
        found += [(one.due, Due.ALERT) for one in state.alerts if one.due is not None]
        squawk = state.squawks.recording
        found += [(squawk.due, Due.SQUAWK)] if squawk is not None else []
        start = watch_times.deadline(aircraft, state)
        found += [(start, Due.START)] if start is not None else []
    return sorted(found, key=lambda pair: pair[0])


def _timer_deadlines(
    aircraft: Aircraft, state: SessionState, timer: Timer
) -> list[tuple[float, Due]]:
    kind = Due.WAIT if isinstance(current(aircraft, state)[1].task, Wait) else Due.LIMIT
    marks = [(timer.ends - mark, Due.MARK) for mark in timer.marks[:1]]
    return [*marks, (timer.ends, kind)]


def next_deadline(aircraft: Aircraft, state: SessionState) -> float | None:
    """Session time at which a Clock event is wanted; None for never."""
    found = deadlines(aircraft, state)
    return found[0][0] if found else None


def due(aircraft: Aircraft, state: SessionState) -> Due | None:
    """What is due at the session's present time, the earliest first."""
    found = deadlines(aircraft, state)
    return found[0][1] if found and found[0][0] <= state.now else None


def start(now: float, seconds: float, marks: tuple[float, ...] = ()) -> Timer:
    """A timer from now on; marks at or beyond its length are dropped."""
    inside = tuple(sorted((m for m in marks if 0 < m < seconds), reverse=True))
    return Timer(now, now + seconds, inside)


def remaining(timer: Timer, now: float) -> float:
    """Seconds left, never below 0."""
    return max(0.0, timer.ends - now)


#: A mark that comes later than this after its time (after a crash, say) is not said.
LATEST_MARK = 1.0

#: Seconds after which a mark of a timed wait is not true any more (common practice,
#: no source).
MARK_FRESH = 2.0


def drop_mark(timer: Timer) -> Timer:
    """The timer without the mark that was due."""
    return replace(timer, marks=timer.marks[1:])


def run_out(timer: Timer) -> Timer:
    """The timer after its end was said."""
    return replace(timer, marks=(), over=True)
