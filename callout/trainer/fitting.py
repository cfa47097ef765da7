"""The simulated engine made to stand for an aircraft's, as far as its physics goes.

Rule of this file: idle and the hand on the lever follow the aircraft file; what the
simulated engine cannot show, or would show beyond that file's limits though nothing is
wrong, is left out with a reason. Nothing is scaled to fit: physics stays what it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import lru_cache

from callout.checklist.model import Aircraft, Await, Band, Gauge
from callout.checklist.start_watch import GaugeSign
from callout.checklist.units import SAME_KIND
from callout.engine.limits import Level, judge, limits_now
from callout.gauges.feed.units import SAME, Linear, conversion
from callout.gauges.simulator import UNITS, Machine, Parameters, Plan, air_at, run
from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED
from callout.gauges.simulator.reedlark import REEDLARK, REEDLARK_PLAN

ABOVE_TRIM = 4.9
"""Percent by which the simulated engine idles above where its governor begins to trim."""

IDLES = (55.0, 82.0)
"""Percent at which it can idle; beyond them a start hangs or never slows down."""

BELOW_LIMIT = 70.0
"""Degrees below the limit of a start at which the hand on the lever waits (as REEDLARK_PLAN)."""

SLOWEST = 40
"""Percent below which a band that is waited for is a starter's, and no idle."""

COOLEST = 560.0
"""Degrees below which the hand cannot wait: the engine would not come to idle."""

STEP = 0.05
"""Seconds of one step of the simulation."""

TO_IDLE = 75.0
"""Seconds in which the scripted start has come to a steady idle."""

ODDS = ("fuel-quantity", "starter-current")
"""Gauges that say nothing of whether the engine runs as it should."""


@dataclass(frozen=True, slots=True)
class Engine:
    """The simulated engine as one aircraft's.

    Fields:
        parameters, plan: of the machine, and of the hand on its lever
        units: how each gauge's value becomes one in the aircraft file's unit; () for all as
            they are
        left_out: gauge of the aircraft file -> why the simulated engine does not show it
    """

    parameters: Parameters = REEDLARK
    plan: Plan = REEDLARK_PLAN
    units: tuple[tuple[str, Linear], ...] = tuple((name, SAME) for name in UNITS)
    left_out: Mapping[str, str] = field(default_factory=dict, hash=False)

    def shown(self, readings: Mapping[str, float]) -> dict[str, float]:
        """The readings of the gauges that it has, in the aircraft file's units."""
        return {name: unit.of(readings[name]) for name, unit in self.units}


EXAMPLE = Engine()
"""As the example aircraft's, with every gauge."""


def engine_for(aircraft: Aircraft, state: str, *, running: bool) -> Engine:
    """The engine for a scene of this aircraft.

    Args:
        aircraft: whose figures it follows
        state: the engine state whose limits hold in the scene
        running: the scene begins at idle, else at rest
    """
    parameters, plan = _parameters(idle_band(aircraft)), _plan(aircraft, state)
    left_out = {}
    for gauge in aircraft.gauges:
        why = _unlike(gauge)
        if not why and gauge.id not in ODDS:
            seen = _normal(parameters, plan)[gauge.id]
            why = _wrong_idle(aircraft, gauge, seen[-1])
            # At rest a gauge may stand below what an engine that runs must show.
            values = seen[-1:] if running else (max(seen),)
            why = why or _beyond(aircraft, gauge, state, values)
        if why:
            left_out[gauge.id] = why
    units = tuple(
        (gauge.id, conversion(UNITS[gauge.id], gauge.unit))
        for gauge in aircraft.gauges
        if gauge.id not in left_out
    )
    return Engine(parameters, plan, units, left_out)


def idle_band(aircraft: Aircraft) -> Band | None:
    """Where the gas generator idles by the aircraft file (%): the last band it waits for."""
    gauge = next((one for one in aircraft.gauges if one.id == GAS_SPEED), None)
    if gauge is None or _unlike(gauge):
        return None
    unit = conversion(gauge.unit, UNITS[GAS_SPEED])
    bands = (
        Band(*(end and Decimal(repr(unit.of(float(end)))) for end in (one.at_least, one.at_most)))
        for one in _awaited(aircraft)
    )
    idle = [one for one in bands if one.at_least and one.at_most and one.at_least >= SLOWEST]
    return idle[-1] if idle else None


def _awaited(aircraft: Aircraft) -> Iterator[Band]:
    """Every band that something waits for the gas generator to come into."""
    for checklist in aircraft.lists:
        for item in checklist.items():
            if isinstance(item.task, Await) and item.task.condition.gauge == GAS_SPEED:
                yield item.task.condition.band
    for phase in aircraft.start_watch.phases if aircraft.start_watch is not None else ():
        for sign in phase.until:
            if isinstance(sign, GaugeSign) and sign.gauge == GAS_SPEED:
                yield sign.band


def _parameters(band: Band | None) -> Parameters:
    if band is None or band.at_least is None or band.at_most is None:
        return REEDLARK
    idle = min(max(float(band.at_least + band.at_most) / 2, IDLES[0]), IDLES[1])
    trim = round((idle - ABOVE_TRIM) / 100.0, 3)
    return replace(
        REEDLARK,
        fuel=replace(REEDLARK.fuel, idle_speed=trim),
        electric=replace(REEDLARK.electric, generator_speed=round(trim + 0.02, 3)),
    )


def _plan(aircraft: Aircraft, state: str) -> Plan:
    """The hand on the lever waits well below what a start must not pass."""
    found = [gauge for gauge in aircraft.gauges if gauge.id == EXHAUST]
    if not found or _unlike(found[0]):
        return REEDLARK_PLAN
    unit = conversion(found[0].unit, UNITS[EXHAUST])
    tops = [unit.of(float(top)) for top in _tops(found[0], state)]
    eases = min((top - BELOW_LIMIT for top in tops), default=REEDLARK_PLAN.eases_at)
    return replace(REEDLARK_PLAN, eases_at=max(COOLEST, eases))


def _tops(gauge: Gauge, state: str) -> Iterator[Decimal]:
    for limit in limits_now(gauge, state):
        if limit.transient is not None:
            yield limit.transient.above
        elif limit.never.at_most is not None:
            yield limit.never.at_most


def _unlike(gauge: Gauge) -> str:
    """Why the simulated engine has no such gauge; "" if it has."""
    if gauge.id not in UNITS:
        return f"the simulated engine has no {gauge.id}; it has {', '.join(UNITS)}"
    here = UNITS[gauge.id]
    if not any(here in kind and gauge.unit in kind for kind in SAME_KIND):
        return f"the simulated engine shows {gauge.id} in {here}, the aircraft file in {gauge.unit}"
    return ""


@lru_cache(maxsize=32)
def _normal(parameters: Parameters, plan: Plan) -> dict[str, tuple[float, ...]]:
    """What each gauge shows from rest to a steady idle while nothing is wrong."""
    hands = replace(plan, ground_power=True, idle=math.inf)
    trace = run(Machine(parameters, air_at(0.0, 15.0)), hands, TO_IDLE, dt=STEP)
    return {name: tuple(one.shown[name] for one in trace.samples) for name in UNITS}


def _beyond(aircraft: Aircraft, gauge: Gauge, state: str, values: Sequence[float]) -> str:
    """Why a gauge does not fit: it would pass a limit though nothing is wrong."""
    unit = conversion(UNITS[gauge.id], gauge.unit)
    for value in values:
        exact = round(Decimal(repr(unit.of(value))), gauge.decimals)
        verdict = judge(gauge, state, exact)
        if verdict.level is Level.NEVER and verdict.limit is not None:
            shown, limit = (f"{one} {gauge.unit}" for one in (exact, verdict.limit))
            return (
                f"the simulated engine shows {shown} of {gauge.id} though nothing is wrong, and "
                f"the limit of the aircraft file is {limit}"
            )
    return ""


def _wrong_idle(aircraft: Aircraft, gauge: Gauge, value: float) -> str:
    """Why the speed does not fit: the engine cannot idle where the aircraft file has it idle."""
    band = idle_band(aircraft) if gauge.id == GAS_SPEED else None
    if band is None or band.holds(Decimal(repr(value))):
        return ""
    low, high = (float(end or 0) for end in (band.at_least, band.at_most))
    return (
        f"the simulated engine can idle from {IDLES[0]:g} to {IDLES[1]:g} %, and the aircraft "
        f"file wants {low:g} to {high:g} %"
    )
