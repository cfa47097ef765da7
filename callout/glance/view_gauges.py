"""Gauges as the page draws them: a value on its range, with the limits that hold now.

Rule of this file: pure; limits are judged by the engine's own `judge`, so the page
cannot call good what the voice calls bad.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from callout.checklist.model import Aircraft, Gauge, Item
from callout.engine.grammar import gauge_of
from callout.engine.limits import Level, judge, limits_now
from callout.engine.state import SessionState, engine_state
from callout.glance.seen import Seen, Value
from callout.glance.view_ways import unit_of


@dataclass(frozen=True, slots=True)
class GaugeView:
    """One gauge.

    Fields:
        name, unit: as spoken and as written
        text: the value in figures; "" when there is none
        at: the value's place on the range, 0 .. 1; None when there is none
        level: "", "caution" or "warning"
        trusted: whether its sensor is
        cautions, nevers: places of limits on the range, 0 .. 1, each with its figure
        wanted: the range that the item in hand asks for, as places (start, end); None for none
    """

    name: str
    unit: str
    text: str
    at: float | None
    level: str
    trusted: bool
    cautions: tuple[tuple[float, str], ...] = ()
    nevers: tuple[tuple[float, str], ...] = ()
    wanted: tuple[float, float] | None = None


def gauges(aircraft: Aircraft, seen: Seen, item: Item | None) -> tuple[GaugeView, ...]:
    """Every gauge with a value, and the one that the item in hand asks for, in the file's order."""
    asked = gauge_of(aircraft, item) if item is not None else None
    found = []
    for gauge in aircraft.gauges:
        value = _value(seen, gauge.id)
        if value is not None or gauge is asked:
            found.append(_view(aircraft, seen, gauge, value, item if gauge is asked else None))
    return tuple(found)


def _value(seen: Seen, gauge: str) -> Value | None:
    """The feed's latest; else the latest that was read aloud and is remembered for its limits."""
    if gauge in seen.values:
        return seen.values[gauge]
    memory = seen.state.seen.get(gauge)
    if memory is None or memory.sample is None:
        return None
    return Value(memory.value, memory.sample.at)


def _view(
    aircraft: Aircraft, seen: Seen, gauge: Gauge, value: Value | None, item: Item | None
) -> GaugeView:
    state = engine_state(aircraft, seen.state)
    measured = gauge.id in seen.values
    trusted = not measured or (not {"", gauge.id} & seen.doubted and "feed" not in seen.lost)
    shown = value is not None and trusted
    cautions, nevers = _limits(gauge, state)
    return GaugeView(
        gauge.call,
        unit_of(gauge),
        _figures(gauge, value.value) if value is not None and shown else "",
        _place(gauge, value.value) if value is not None and shown else None,
        _level(seen.state, gauge, state, value) if value is not None and shown else "",
        trusted,
        _placed(gauge, cautions),
        _placed(gauge, nevers),
        _wanted(gauge, item),
    )


def _figures(gauge: Gauge, value: Decimal) -> str:
    return f"{round(value, gauge.decimals):f}" if value.is_finite() else ""


def _place(gauge: Gauge, value: Decimal) -> float:
    """Where on the range a value lies, 0 .. 1."""
    low, high = gauge.possible.at_least, gauge.possible.at_most
    assert low is not None
    assert high is not None
    if not value.is_finite() or high <= low:
        return 0.0
    return round(float(min(max((value - low) / (high - low), Decimal(0)), Decimal(1))), 4)


def _level(state: SessionState, gauge: Gauge, engine: str, value: Value) -> str:
    """What is called of it, or would be by its value alone."""
    called = [a for a in state.alerts if a.key.startswith(f"{gauge.id}/") and not a.ended]
    verdict = judge(gauge, engine, value.value) if value.value.is_finite() else None
    if any(alert.grave for alert in called) or (verdict and verdict.level is Level.NEVER):
        return "warning"
    return "caution" if called or (verdict and verdict.level is Level.CAUTION) else ""


def _limits(gauge: Gauge, engine: str) -> tuple[set[Decimal], set[Decimal]]:
    """Figures of the caution and never-exceed limits that hold in an engine state."""
    cautions: set[Decimal | None] = set()
    nevers: set[Decimal | None] = set()
    for limit in limits_now(gauge, engine):
        cautions |= {limit.caution.at_least, limit.caution.at_most}
        nevers |= {limit.never.at_least, limit.never.at_most}
        if limit.transient is not None:
            cautions.add(limit.transient.above)
            nevers.add(limit.transient.never_above)
    return {one for one in cautions if one is not None}, {one for one in nevers if one is not None}


def _placed(gauge: Gauge, figures: Iterable[Decimal]) -> tuple[tuple[float, str], ...]:
    return tuple((_place(gauge, one), f"{one:f}") for one in sorted(figures))


def _wanted(gauge: Gauge, item: Item | None) -> tuple[float, float] | None:
    """The range that the item asks for."""
    task = item.task if item is not None else None
    band = getattr(task, "accept", None) or getattr(getattr(task, "condition", None), "band", None)
    if band is None:
        return None
    low = _place(gauge, band.at_least) if band.at_least is not None else 0.0
    high = _place(gauge, band.at_most) if band.at_most is not None else 1.0
    return (low, high)
