"""What of a session's state matters: two states with one key are taken for the same.

Rule of this file: every field of the state is either in the key or stands in LEFT_OUT
with the reason; a test fails when one is in neither.

Why a key at all: session time grows with every step, so no state ever comes twice. The
engine asks time three questions only: whether a deadline has passed (it is told so by
a Clock event, in the order of the deadlines), whether a tick is older than it may be,
and whether a person could have looked before he answered. So times are replaced by the
order in which deadlines will come and by whether each tick is out of date; how long
somebody looked belongs to the utterance, and states_moves.py has it both ways. Counters
are clipped where the engine stops telling their values apart.

What that loses: two states whose deadlines come in the same order but at other
distances are one here, so that a move that fits between two deadlines in one may not in
the other (only whether the next one leaves no time at all for a move before it is in the
key); and windows of samples are left out, so a limit that is seen ahead is found
only as the first state of a key had them. `states_search.py` therefore holds, at each
meeting of two states with one key, that the same words count in both, and on a sample of
them it counts how often their next states differ: in the order of their deadlines only
(each such order is a key of its own, reached or not on its own account), or otherwise.
To tell all distances apart that matter, as regions of timed automata do (Alur and Dill
1994, from memory), would lose nothing and make many times more states.
"""

from __future__ import annotations

from collections.abc import Hashable
from types import MappingProxyType

from states_watch import watch_key

from callout.checklist.model import Aircraft
from callout.engine import timers
from callout.engine.limit_memory import Memory
from callout.engine.rules import State
from callout.engine.sensing import CALLS_BEFORE_PARKING
from callout.engine.state import Alert, Mark, Progress, SessionState, Status

JUST = 0.01
"""Seconds: next to nothing, as in moves. What is due so soon leaves no time before it."""

LEFT_OUT = MappingProxyType(
    {
        "now": "time: see above",
        "grammar": "made of the rest; held to be the same where two states meet",
        "next_say": "numbers sentences, nothing is decided by it",
        "prompt": "what say again says; made of the item, the mode and what was asked last",
        "asked_at": "time: see above",
        "prompt_ended_at": "time: see above",
        "answer_due": "time: among the deadlines",
        "misheard": "decides only whether 'Not understood.' is said once more",
    }
)

KEPT = frozenset(
    {
        "mode", "plan", "run", "item", "closed", "choices", "prompt_say", "times_asked",
        "timer", "aside", "held_since", "long_gone", "doubt", "overriding",
        "back_to", "last", "queried", "alerts", "seen", "warned", "wanted", "duties", "watch",
        "watched", "beside", "squawks", "news",
    }
)  # fmt: skip


def key(aircraft: Aircraft, state: SessionState) -> Hashable:
    """The state without what does not matter."""
    if state.mode is State.ENDED:
        return ("ended",)
    due = timers.deadlines(aircraft, state)
    no_time = bool(due) and due[0][0] - state.now < 1.5 * JUST
    return (
        (state.mode, state.back_to, state.item, state.plan, state.choices, state.wanted),
        _run(aircraft, state, state.run),
        _closed(aircraft, state),
        (
            state.prompt_say is None,
            min(state.times_asked, CALLS_BEFORE_PARKING),
            state.queried,
            state.long_gone,
            state.warned,
            state.watched,
            state.beside,
            bool(state.news),
        ),
        state.timer is not None and (state.timer.over, len(state.timer.marks)),
        state.aside is not None and state.aside[0],
        state.held_since is None,
        state.doubt is not None and state.doubt.values,
        state.overriding,
        state.last is not None and (state.last.list_id, state.last.item, state.last.before.status),
        tuple(_alert(alert) for alert in state.alerts),
        tuple(f for gauge, one in sorted(state.seen.items()) for f in _memory(gauge, one)),
        _duties(state),
        _watch(aircraft, state),
        _squawks(state),
        (no_time, tuple(kind for _, kind in due)),
    )


def without_order(name: Hashable) -> Hashable:
    """A key without the order in which deadlines will come, which is its last part."""
    return name[:-1] if isinstance(name, tuple) else name


def _run(aircraft: Aircraft, state: SessionState, run: Progress | None) -> Hashable:
    if run is None:
        return None
    items = aircraft.list(run.list_id).items()
    marks = zip(items, run.marks, strict=True)
    return (run.list_id, run.forced, tuple(_mark(i.stale_after, m, state.now) for i, m in marks))


def _mark(stale_after: float | None, mark: Mark, now: float) -> Hashable:
    old = stale_after is not None and mark.status is Status.TICKED and now - mark.at > stale_after
    return (mark.status, old)


def _closed(aircraft: Aircraft, state: SessionState) -> Hashable:
    """Of lists that are closed, the last outcome of each and what a planned list needs of them."""
    last = {run.list_id: run for run in state.closed}
    planned = [one for one in aircraft.lists if one.id in state.plan]
    needs = {(n.list_id, n.item) for one in planned for n in one.needs if n.item}
    found: list[Hashable] = [run.list_id for run in state.closed[-1:]]
    for name, run in sorted(last.items()):
        marks = zip(aircraft.list(name).items(), run.marks, strict=True)
        needed = [_mark(i.stale_after, m, state.now) for i, m in marks if (name, i.id) in needs]
        found.append((name, run.outcome, *needed))
    return tuple(found)


def _alert(alert: Alert) -> Hashable:
    said = (alert.say is None, alert.began is None, alert.said > 0, alert.due is None)
    return (alert.key, alert.grave, alert.of_item, *said, alert.answered, alert.ended)


def _memory(gauge: str, memory: Memory) -> tuple[Hashable, ...]:
    """What stands; a gauge that is inside all its limits is as one that was never read."""
    outside = memory.outside
    if outside is None and not memory.findings:
        return ()
    findings = tuple((finding.kind, finding.side) for finding in memory.findings)
    back = memory.inside_since is not None
    return ((gauge, memory.state, outside and (outside.kind, outside.side), back, findings),)


def _duties(state: SessionState) -> Hashable:
    """Counts in whole turns: what has been given back of one is time."""
    duties, cooling, stopping = state.duties, state.duties.cooling, state.duties.stopping
    return (
        tuple((one.counter, int(one.turns), one.began is None) for one in duties.tallies),
        duties.counted, duties.shown, duties.unsure, duties.late, duties.in_state,
        tuple(name for name, _ in duties.refused),
        (cooling.began is None, len(cooling.marks), cooling.done, cooling.over, cooling.raised),
        (cooling.seen, cooling.outside),
        stopping and (stopping.path, stopping.timed, stopping.lowest, stopping.burning),
    )  # fmt: skip


def _watch(aircraft: Aircraft, state: SessionState) -> Hashable:
    spec, watch = aircraft.start_watch, state.watch
    return None if spec is None or watch is None else watch_key(spec, watch, state.now)


def _squawks(state: SessionState) -> Hashable:
    """By their places, not by their numbers: those dropped have used numbers up."""
    squawks, recording = state.squawks, state.squawks.recording
    undo, places = squawks.undo, [one.key for one in squawks.open]
    return (
        tuple((one.grounds, one.read) for one in squawks.open),
        recording and (recording.squawk.grounds, recording.back),
        places.index(squawks.in_hand) if squawks.in_hand in places else None,
        squawks.playing is not None,
        undo and (undo.before.key in places, undo.closed),
    )
