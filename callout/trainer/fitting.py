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
from callout.trainer.model import Scene

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
        units: gauge of the aircraft file, the simulator's own for it, and how a value of that
            becomes one in the file's unit
        left_out: gauge of the aircraft file -> why the simulated engine does not show it
    """

    parameters: Parameters = REEDLARK
    plan: Plan = REEDLARK_PLAN
    units: tuple[tuple[str, str, Linear], ...] = tuple((name, name, SAME) for name in UNITS)
    left_out: Mapping[str, str] = field(default_factory=dict, hash=False)

    def shown(self, readings: Mapping[str, float]) -> dict[str, float]:
        """The readings of the gauges that it has, in the aircraft file's units."""
        return {name: unit.of(readings[simulated]) for name, simulated, unit in self.units}


EXAMPLE = Engine()
"""As the example aircraft's, with every gauge."""


def engine_for(aircraft: Aircraft, where: Scene) -> Engine:
    """The engine for a scene of this aircraft: its figures, the scene's limits and names."""
    names = dict(where.gauges)
    band, hot = _idle(aircraft, names), _named(aircraft, names, EXHAUST)
    parameters, plan = _parameters(band), _plan(hot, where.engine_state)
    units, left_out = [], {}
    for gauge in aircraft.gauges:
        simulated = names.get(gauge.id, gauge.id)
        why = _unlike(gauge, simulated)
        if not why and simulated not in ODDS:
            seen = _normal(parameters, plan)[simulated]
            # At rest a gauge may stand below what an engine that runs must show.
            values = seen[-1:] if where.running else (max(seen),)
            why = _beyond(gauge, simulated, where.engine_state, values)
            if simulated == GAS_SPEED and band is not None:
                why = _wrong_idle(band, seen[-1]) or why
        if why:
            left_out[gauge.id] = why
        else:
            units.append((gauge.id, simulated, conversion(UNITS[simulated], gauge.unit)))
    return Engine(parameters, plan, tuple(units), left_out)


def _named(aircraft: Aircraft, names: Mapping[str, str], simulated: str) -> Gauge | None:
    """The aircraft file's gauge for one of the simulator's, if it can be compared with it."""
    for gauge in aircraft.gauges:
        if names.get(gauge.id, gauge.id) == simulated and not _unlike(gauge, simulated):
            return gauge
    return None


def _idle(aircraft: Aircraft, names: Mapping[str, str]) -> Band | None:
    """Where the gas generator idles by the aircraft file (%): the last band it waits for."""
    gauge = _named(aircraft, names, GAS_SPEED)
    if gauge is None:
        return None
    unit = conversion(gauge.unit, UNITS[GAS_SPEED])
    bands = (
        Band(*(end and Decimal(repr(unit.of(float(end)))) for end in (one.at_least, one.at_most)))
        for one in _awaited(aircraft, gauge.id)
    )
    idle = [one for one in bands if one.at_least and one.at_most and one.at_least >= SLOWEST]
    return idle[-1] if idle else None


def _awaited(aircraft: Aircraft, speed: str) -> Iterator[Band]:
    """Every band that something waits for the gas generator to come into."""
    for checklist in aircraft.lists:
        for item in checklist.items():
            if isinstance(item.task, Await) and item.task.condition.gauge == speed:
                yield item.task.condition.band
    for phase in aircraft.start_watch.phases if aircraft.start_watch is not None else ():
        for sign in phase.until:
            if isinstance(sign, GaugeSign) and sign.gauge == speed:
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


def _plan(gauge: Gauge | None, state: str) -> Plan:
    """The hand on the lever waits well below what a start must not pass."""
    if gauge is None:
        return REEDLARK_PLAN
    unit = conversion(gauge.unit, UNITS[EXHAUST])
    tops = [unit.of(float(top)) for top in _tops(gauge, state)]
    eases = min((top - BELOW_LIMIT for top in tops), default=REEDLARK_PLAN.eases_at)
    return replace(REEDLARK_PLAN, eases_at=max(COOLEST, eases))


def _tops(gauge: Gauge, state: str) -> Iterator[Decimal]:
    for limit in limits_now(gauge, state):
        if limit.transient is not None:
            yield limit.transient.above
        elif limit.never.at_most is not None:
            yield limit.never.at_most


def _unlike(gauge: Gauge, simulated: str) -> str:
    """Why the simulated engine has no such gauge; "" if it has."""
    if simulated not in UNITS:
        return (
            f"the simulated engine has no {simulated}; it has {', '.join(UNITS)}: one of these "
            "may stand for it in the scene's gauges"
        )
    here = UNITS[simulated]
    if not any(here in kind and gauge.unit in kind for kind in SAME_KIND):
        return (
            f"the simulated engine shows {simulated} in {here}, the aircraft file in {gauge.unit}"
        )
    return ""


@lru_cache(maxsize=32)
def _normal(parameters: Parameters, plan: Plan) -> dict[str, tuple[float, ...]]:
    """What each gauge shows from rest to a steady idle while nothing is wrong."""
    hands = replace(plan, ground_power=True, idle=math.inf)
    trace = run(Machine(parameters, air_at(0.0, 15.0)), hands, TO_IDLE, dt=STEP)
    return {name: tuple(one.shown[name] for one in trace.samples) for name in UNITS}


def _beyond(gauge: Gauge, simulated: str, state: str, values: Sequence[float]) -> str:
    """Why a gauge does not fit: it would pass a limit though nothing is wrong."""
    unit = conversion(UNITS[simulated], gauge.unit)
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


def _wrong_idle(band: Band, value: float) -> str:
    """Why the speed does not fit: the engine cannot idle where the aircraft file has it idle."""
    if band.holds(Decimal(repr(value))):
        return ""
    low, high = (float(end or 0) for end in (band.at_least, band.at_most))
    return (
        f"the simulated engine can idle from {IDLES[0]:g} to {IDLES[1]:g} %, and the aircraft "
        f"file wants {low:g} to {high:g} %"
    )
