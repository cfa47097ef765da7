"""From fuel-off to standstill, and the watch for a fire that goes on.

Rule of this file: a run-down is timed only between two moments that are known.
Standstill told by a gauge is compared with that told by a gauge, a word with a
word: a pilot takes longer to say it than a gauge to show it.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from callout.checklist.duties import ResidualFire
from callout.checklist.model import Aircraft, ListKind
from callout.engine import alerts, rundown_sign, wording_duties
from callout.engine.counters_session import WRONG
from callout.engine.duties_state import Stopping
from callout.engine.effects import Record
from callout.engine.rundown_compare import compare
from callout.engine.state import SessionState
from callout.engine.turn import Turn

FACT = "run-down"
"""The fact that holds one run-down."""


ALERT = "residual-fire"
"""The key of the warning."""


def _set(turn: Turn, stopping: Stopping | None) -> None:
    turn.set(duties=replace(turn.state.duties, stopping=stopping))


def follow(turn: Turn, fact: Record) -> None:
    """What one fact means for it."""
    path, stopping = fact.about, turn.state.duties.stopping
    if fact.fact in ("ticked", "overridden") and path in _starts(turn.aircraft):
        _set(turn, Stopping(turn.now, path, timed=fact.fact == "ticked" and _timed(turn, path)))
    elif fact.fact == "ticked" and stopping is not None:
        down = turn.aircraft.run_down
        if down is not None and path in down.ends:
            _still(turn, "item")
    elif fact.fact == "reopened" and stopping is not None and path == stopping.path:
        if dict(fact.data)["why"] in (*WRONG, "go back"):
            _set(turn, None)
    elif fact.fact == "list opened" and stopping is not None:
        opened = turn.aircraft.list(path)
        if opened.kind is ListKind.NORMAL and opened.engine_state != "any":
            _set(turn, None)  # it runs again


def _starts(aircraft: Aircraft) -> tuple[str, ...]:
    down, fire = aircraft.run_down, aircraft.residual_fire
    return (*(down.starts if down else ()), *(fire.starts if fire else ()))


def _timed(turn: Turn, path: str) -> bool:
    return turn.aircraft.run_down is not None and path in turn.aircraft.run_down.starts


def standstill_said(turn: Turn) -> None:
    """The pilot says that it stands still."""
    _still(turn, "words")


def _still(turn: Turn, by: str) -> None:
    """Standstill: the time is written down, and said if it was short."""
    down, stopping = turn.aircraft.run_down, turn.state.duties.stopping
    if down is None or stopping is None or not stopping.timed:
        return
    seconds = turn.now - stopping.off_at
    _set(turn, replace(stopping, timed=False))
    data = {"seconds": f"{seconds:.2f}", "by": by}
    past = [took for how, took in turn.state.duties.past if how == by]
    found = compare(seconds, past, down.shorter_by, down.sessions)
    if found is not None:
        data |= {"usual": f"{found.usual:.2f}", "of": str(found.of)}
        if found.score is not None:
            data["score"] = f"{found.score:.2f}"
    turn.record(FACT, stopping.path, **data)
    if found is not None and found.short:
        text = wording_duties.short_run_down(seconds, found.usual)
        alerts.raise_(turn, "run-down", text, grave=False, fact="run-down short", about="", **data)
    turn.set(duties=replace(turn.state.duties, past=(*turn.state.duties.past, (by, seconds))))


def read(turn: Turn, gauge: str, value: Decimal, *, measured: bool) -> None:
    """A value of a gauge, measured or called out."""
    down, stopping = turn.aircraft.run_down, turn.state.duties.stopping
    if stopping is None or not value.is_finite():
        return
    if down is not None and down.standstill is not None and stopping.timed:
        still = down.standstill
        if measured and gauge == still.gauge and still.band.holds(value):
            _still(turn, "gauge")
    fire = turn.aircraft.residual_fire
    if fire is not None and gauge == fire.gauge:
        _watch(turn, fire, value, measured=measured)


def _watch(turn: Turn, fire: ResidualFire, value: Decimal, *, measured: bool) -> None:
    """Keep the lowest value; a fire that was called is over when nothing shows it any more.

    Of measured values two in a row count, as the higher of them: a single low one is no cold.
    """
    stopping = turn.state.duties.stopping
    assert stopping is not None
    if measured:
        before, stopping = stopping.before, replace(stopping, before=value)
        _set(turn, stopping)
        value = value if before is None else max(before, value)
    if stopping.burning:
        half = (fire.rises_by or Decimal(0)) / 2
        if not rundown_sign.sign(turn.aircraft, turn.state, gauge=fire.gauge, value=value + half):
            alerts.clear(turn, ALERT)
            _set(turn, replace(stopping, burning=False, lowest=value))
    elif stopping.lowest is None or value < stopping.lowest:
        _set(turn, replace(stopping, lowest=value))


def listened_for(aircraft: Aircraft, state: SessionState) -> bool:
    """Whether the words that say standstill count now."""
    down, stopping = aircraft.run_down, state.duties.stopping
    return down is not None and bool(down.said) and stopping is not None and stopping.timed
