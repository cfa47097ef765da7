"""Warnings and cautions: raised, cleared, and what stands at present.

Rule of this file: whatever must be called out whatever else is going on is
called through `raise_`, in the very step that shows it (invariant 5), and is
taken back through `clear` when its cause has ended. One that stands is not
called anew by being raised again; one that recurs is.
"""

from __future__ import annotations

from dataclasses import replace

from callout.engine.effects import Priority, ToneKind
from callout.engine.state import Alert, SessionState
from callout.engine.turn import Turn


def raise_(turn: Turn, key: str, text: str, *, grave: bool, fact: str = "", **data: str) -> bool:
    """Call a warning (grave) or a caution, unless it stands already; whether it is new.

    `key` names the cause ("exhaust-temperature/NEVER"), `text` is what is said:
    while it stands each call may bring a newer text, which is what is said the
    next time. `fact` and `data` go into the log.
    """
    standing = find(turn.state, key)
    if standing is not None:
        _replace(turn, standing, replace(standing, text=text))
        return False
    turn.record(fact or ("warning" if grave else "caution"), **data)
    turn.tone(ToneKind.WARNING if grave else ToneKind.CAUTION)
    turn.say(text, Priority.WARNING if grave else Priority.CAUTION)
    turn.set(alerts=(*turn.state.alerts, Alert(key, text, grave, turn.now)))
    return True


def clear(turn: Turn, key: str) -> None:
    """The cause has ended: raised again, it is called again."""
    standing = find(turn.state, key)
    if standing is not None:
        _replace(turn, standing)


def find(state: SessionState, key: str) -> Alert | None:
    """The alert of this key, if it stands."""
    return next((alert for alert in state.alerts if alert.key == key), None)


def stands(state: SessionState, key: str) -> bool:
    """Whether the cause of this key was there when last looked at."""
    return find(state, key) is not None


def _replace(turn: Turn, old: Alert, *new: Alert) -> None:
    at = turn.state.alerts.index(old)
    turn.set(alerts=(*turn.state.alerts[:at], *new, *turn.state.alerts[at + 1 :]))
