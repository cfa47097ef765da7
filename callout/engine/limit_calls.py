"""Limits over a session: readings in, warnings and cautions called.

Rule of this file: it keeps one memory a gauge and calls what stands in it, in the
very step that shows it; what was found is decided in limit_memory.py. A gap, a
sensor that is not to be trusted and a lost feed break off what was going on.
"""

from __future__ import annotations

from decimal import Decimal

from callout.checklist.model import Gauge
from callout.engine import alerts, wording_limits
from callout.engine.effects import Record
from callout.engine.events import FeedFault, Lost, Reading, Resumed
from callout.engine.limit_findings import GRAVE, RANK, Finding, Kind
from callout.engine.limit_memory import BLANK, Memory, begun_anew, broken_off, look, moved
from callout.engine.state import engine_state
from callout.engine.trend import LONGEST_GAP
from callout.engine.turn import Turn

FACTS = {Kind.AHEAD: "limit ahead", Kind.TRANSIENT: "caution", Kind.CAUTION: "caution"}
"""What a finding is called in the log; any other one is a limit passed."""


def watch_limits(turn: Turn) -> None:
    """A reading that passes a limit is called in this very step (invariant 5)."""
    event = turn.event
    assert isinstance(event, Reading)
    gauge = next((g for g in turn.aircraft.gauges if g.id == event.gauge), None)
    if gauge is None:
        turn.record("unknown gauge", "", gauge=event.gauge)
    elif not event.value.is_finite():
        turn.record("reading without a value", "", gauge=event.gauge)
    elif gauge.limits:
        before = turn.state.seen.get(gauge.id, BLANK)
        state = engine_state(turn.aircraft, turn.state)
        _keep(turn, gauge, before, look(gauge, before, state, event.at, event.value))


def hear_value(turn: Turn, gauge: Gauge, value: Decimal) -> None:
    """A value read aloud: what a single value tells, its time above, and slopes if it can.

    While the feed shows this gauge, it is the better witness, and this is no sample.
    """
    before = turn.state.seen.get(gauge.id, BLANK)
    fed = before.sample is not None and not before.spoken
    if not gauge.limits or (fed and _fresh(turn, before)):
        return
    state = engine_state(turn.aircraft, turn.state)
    _keep(turn, gauge, before, look(gauge, before, state, turn.now, value, spoken=True))


def after_step(turn: Turn) -> None:
    """What the rest of the step means for the limits: another engine state, or nobody looks."""
    name, value = turn.called
    if value is not None:
        hear_value(turn, turn.aircraft.gauge(name), value)
    event = turn.event
    if not turn.state.seen:
        return
    if isinstance(event, Resumed) or (isinstance(event, Lost) and event.part == "feed"):
        _break_off(turn, "")
    elif isinstance(event, FeedFault) and event.kind != "line":
        _break_off(turn, event.gauge)
    if turn.touched & {"run", "closed"}:
        _follow_engine(turn)


def _break_off(turn: Turn, gauge_id: str) -> None:
    """Of one gauge, or of all ("")."""
    now = {
        name: broken_off(memory) if gauge_id in ("", name) else memory
        for name, memory in turn.state.seen.items()
    }
    turn.set(seen=now)


def _follow_engine(turn: Turn) -> None:
    """Other limits hold: a value that stands beyond one of them is called at once."""
    state, again = engine_state(turn.aircraft, turn.state), _opened_again(turn)
    for gauge in turn.aircraft.gauges:
        before = turn.state.seen.get(gauge.id)
        if before is None or before.state == state:
            if before is not None and again:
                _keep(turn, gauge, before, begun_anew(gauge, before))
            continue
        now = moved(gauge, before, state)
        if before.sample is not None and not before.spoken and _fresh(turn, before):
            now = look(gauge, now, state, before.sample.at, before.value)
        _keep(turn, gauge, before, now)


def _opened_again(turn: Turn) -> bool:
    """Whether a list was opened in this step that was run before: another start, another run."""
    run, event = turn.state.run, "list opened"
    opened = any(isinstance(one, Record) and one.fact == event for one in turn.effects)
    return opened and run is not None and run.list_id in {one.list_id for one in turn.state.closed}


def _fresh(turn: Turn, memory: Memory) -> bool:
    """Whether its last sample may still be what the gauge shows."""
    assert memory.sample is not None
    return turn.now - memory.sample.at <= LONGEST_GAP


def _keep(turn: Turn, gauge: Gauge, before: Memory, now: Memory) -> None:
    """Remember, take back what is over, call what is new."""
    turn.set(seen={**turn.state.seen, gauge.id: now})
    standing = {finding.key: finding for finding in now.findings}
    for old in before.findings:
        new = standing.get(old.key)
        if new is None or not new.same_limit(old) or new.since != old.since:
            alerts.clear(turn, f"{gauge.id}/{old.key}")
    for finding in now.findings:
        if finding.gone(now.value):
            continue  # what was said last holds until it is back, or over
        if not _said_by_another(finding, now):
            _call(turn, gauge, finding, now.value)
        elif finding.key not in {old.key for old in before.findings}:
            turn.record("limit passed", **_data(gauge, finding, now.value))


def _said_by_another(finding: Finding, memory: Memory) -> bool:
    """Whether a rate is no news: that it rises fast, or is beyond, is being said already.

    Two warnings about one rise would only keep the next one waiting.
    """
    graver = (Kind.NEVER, Kind.AHEAD)
    return finding.kind is Kind.RATE and any(
        one.kind in graver and one.side == finding.side for one in memory.findings
    )


def _call(turn: Turn, gauge: Gauge, finding: Finding, value: Decimal) -> None:
    text = wording_limits.call(turn.aircraft, gauge, finding, value)
    fact = FACTS.get(finding.kind, "limit passed")
    key, grave = f"{gauge.id}/{finding.key}", finding.kind in GRAVE
    data = _data(gauge, finding, value)
    alerts.raise_(turn, key, text, grave=grave, fact=fact, **data)


def _data(gauge: Gauge, finding: Finding, value: Decimal) -> dict[str, str]:
    data = {"gauge": gauge.id, "value": str(value), "limit": str(finding.limit)}
    if finding.kind not in RANK:
        data["kind"] = finding.kind.value
        data["seen"] = f"{finding.seen:.3g}"
    if finding.allowed:
        data["seconds"] = f"{finding.allowed:g}"
    return data
