"""Sensors that are not to be trusted: said once, and what hung on them is broken off.

Rule of this file: a fault of a sensor is no value. It ticks nothing, meets no
condition and passes no limit; it only tells, and ends what had held so far.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from callout.engine import alerts, wording
from callout.engine.condition import awaited
from callout.engine.events import FeedFault, FeedGood
from callout.engine.turn import Turn

OF_A_SENSOR: Mapping[str, str] = MappingProxyType(
    {
        "silent": "silent",
        "no number": "gives no number",
        "out of range": "out of range",
        "jumps": "jumps",
        "stuck": "stuck",
        "unit": "gives another unit",
    }
)
"""Kind of a fault -> what is said of the sensor, after its name."""

OF_THE_FEED: Mapping[str, str] = MappingProxyType(
    {
        "clock": "Gauge feed clock wrong",
        "late": "Gauge feed late",
        "line": "Gauge feed line not understood",
        "frozen": "Gauge feed frozen",
    }
)
"""Kind of a fault -> what is said of the feed as a whole."""


def sensor_fault(turn: Turn) -> None:
    """A sensor, or the feed, gives something that is no value: said once, noun first."""
    event = turn.event
    assert isinstance(event, FeedFault)
    task = awaited(turn.aircraft, turn.state)
    if task is not None and event.kind != "line" and event.gauge in ("", task.condition.gauge):
        turn.set(held_since=None)  # nothing is known about this time
    key = f"{_prefix(event.gauge)}{event.kind}"
    if alerts.stands(turn.state, key):
        return
    data = {"gauge": event.gauge, "kind": event.kind, "what": event.what}
    alerts.raise_(turn, key, _said(turn, event), grave=False, fact="sensor fault", **data)
    if event.what:
        turn.show(wording.sentence(event.what), "note")


def _said(turn: Turn, event: FeedFault) -> str:
    if not event.gauge:
        return wording.sentence(OF_THE_FEED.get(event.kind, f"Gauge feed: {event.kind}"))
    calls = {gauge.id: gauge.call for gauge in turn.aircraft.gauges}
    what = OF_A_SENSOR.get(event.kind, event.kind)
    return wording.sentence(f"{calls.get(event.gauge, event.gauge)} sensor {what}")


def sensor_good(turn: Turn) -> None:
    """Its values count again; said only if something had been said about it."""
    event = turn.event
    assert isinstance(event, FeedGood)
    if not _drop(turn, _prefix(event.gauge)):
        return
    turn.record("sensor good", gauge=event.gauge)
    calls = {gauge.id: gauge.call for gauge in turn.aircraft.gauges}
    name = f"{calls.get(event.gauge, event.gauge)} sensor" if event.gauge else "gauge feed"
    turn.remark(wording.sentence(f"{name} works again"))


def forget(turn: Turn) -> None:
    """Nobody looked for a while: what is wrong now is told anew."""
    _drop(turn, "sensor/")


def _prefix(gauge: str) -> str:
    return f"sensor/{gauge}/"


def _drop(turn: Turn, prefix: str) -> bool:
    """Take back every fault told so; whether there was one."""
    keys = [alert.key for alert in turn.state.alerts if alert.key.startswith(prefix)]
    for key in keys:
        alerts.clear(turn, key)
    return bool(keys)
