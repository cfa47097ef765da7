"""Simulated starts by chance: the air, the battery, the hands, and what is wrong.

Rule of this file: a case is a function of its number and the seed alone. Whether
a start is bad is not decided here: a mild fault may leave it good.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from random import Random
from types import MappingProxyType

from callout.gauges.simulator import Air, Faults, Plan, Sensor, SensorFault, standard_air
from callout.gauges.simulator.atmosphere import P0, ZERO_C
from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED
from callout.gauges.simulator.reedlark import REEDLARK_PLAN


@dataclass(frozen=True, slots=True)
class Case:
    """One start.

    Fields:
        number, kind: which, and what is wrong with it
        air: around it
        faults: of the machine and its sensors
        plan: what the pilot does
        charge: of the battery, 0 .. 1
        metal: hot parts, K; None: as the air
        pool: fuel left in the combustor, kg
    """

    number: int
    kind: str
    air: Air
    faults: Faults
    plan: Plan
    charge: float
    metal: float | None = None
    pool: float = 0.0


def _sound(case: Case, chance: Random) -> Case:
    del chance
    return case


def _weak_battery(case: Case, chance: Random) -> Case:
    faults = replace(
        case.faults,
        battery_resistance=chance.uniform(1.5, 4.0),
        starter_resistance=chance.uniform(1.0, 1.3),
    )
    return replace(case, faults=faults, charge=chance.uniform(0.2, 0.9))


def _wet_start(case: Case, chance: Random) -> Case:
    return replace(case, pool=chance.uniform(0.004, 0.02))


def _hot_start(case: Case, chance: Random) -> Case:
    return replace(case, faults=replace(case.faults, fuel_excess=chance.uniform(1.4, 2.4)))


def _hung_start(case: Case, chance: Random) -> Case:
    return replace(case, plan=replace(case.plan, starter_off=chance.uniform(22.0, 40.0)))


def _sticking_starter(case: Case, chance: Random) -> Case:
    sticks = float("inf") if chance.random() < 0.5 else chance.uniform(0.3, 20.0)
    return replace(case, faults=replace(case.faults, starter_sticks=sticks))


def _igniter_dead(case: Case, chance: Random) -> Case:
    del chance
    return replace(case, faults=replace(case.faults, igniter_dead=True))


def _flame_out(case: Case, chance: Random) -> Case:
    stops = chance.uniform(14.0, 40.0)
    returns = float("inf") if chance.random() < 0.6 else stops + chance.uniform(0.5, 4.0)
    return replace(case, faults=replace(case.faults, fuel_stops=stops, fuel_returns=returns))


def _starter_forgotten(case: Case, chance: Random) -> Case:
    del chance
    never = float("inf")
    return replace(case, plan=replace(case.plan, starter_off=never, igniter_off=never))


def _igniter_forgotten(case: Case, chance: Random) -> Case:
    del chance
    return replace(case, plan=replace(case.plan, igniter_off=float("inf")))


def _tailwind(case: Case, chance: Random) -> Case:
    return replace(case, faults=replace(case.faults, tailwind=chance.uniform(3.0, 20.0)))


def _residual_heat(case: Case, chance: Random) -> Case:
    return replace(case, metal=case.air.kelvin + chance.uniform(50.0, 400.0))


def _sensor(case: Case, chance: Random) -> Case:
    """One gauge of the feed lies, or all are gone for a while; the engine is sound."""
    begins = chance.uniform(0.5, 40.0)
    ends = begins + chance.choice((0.3, 1.5, 5.0, 30.0))
    kind = chance.choice(tuple(_AMOUNTS))
    gauges = (GAS_SPEED, EXHAUST) if chance.random() < 0.2 else (chance.choice(_LYING),)
    faults = tuple(
        SensorFault(gauge, kind, chance.uniform(*_AMOUNTS[kind]) * _SIZES[gauge], begins, ends)
        for gauge in gauges
    )
    return replace(case, faults=replace(case.faults, sensors=faults))


_LYING = (GAS_SPEED, EXHAUST)
_SIZES = {GAS_SPEED: 0.1, EXHAUST: 1.0}
_AMOUNTS = {
    Sensor.STUCK: (0.0, 0.0),
    Sensor.DROPOUT: (0.0, 0.0),
    Sensor.JUMP: (150.0, 500.0),
}
"""How a gauge of the feed lies, and by how much, in degrees or tenths of percent."""

KINDS: Mapping[str, tuple[int, Callable[[Case, Random], Case]]] = MappingProxyType(
    {
        "sound": (30, _sound),
        "weak battery": (10, _weak_battery),
        "wet start": (8, _wet_start),
        "hot start": (10, _hot_start),
        "hung start": (8, _hung_start),
        "sticking starter": (6, _sticking_starter),
        "igniter dead": (5, _igniter_dead),
        "flame-out": (5, _flame_out),
        "starter forgotten": (2, _starter_forgotten),
        "igniter forgotten": (2, _igniter_forgotten),
        "tailwind": (4, _tailwind),
        "residual heat": (4, _residual_heat),
        "sensor": (10, _sensor),
    }
)
"""What is wrong: how often among a hundred or so, and what it does to a start."""


def case(number: int, seed: int) -> Case:
    """The start of this number."""
    chance = Random(f"{seed}/{number}")  # noqa: S311 - a simulation by chance, no secret
    weights = [weight for weight, _ in KINDS.values()]
    kind = chance.choices(tuple(KINDS), weights)[0]
    height = chance.uniform(0.0, 3000.0)
    air = Air(ZERO_C + chance.uniform(-20.0, 45.0), standard_air(height).pascal)
    charge = chance.uniform(0.75, 1.0)
    thin = air.pascal / P0
    plan = replace(
        REEDLARK_PLAN,
        fuel_at=chance.uniform(18.0, 22.0),
        # Thin air wants less fuel, and a pilot who knows his machine gives less.
        lever_first=REEDLARK_PLAN.lever_first * thin * chance.uniform(0.85, 1.05),
        lever_rate=REEDLARK_PLAN.lever_rate * thin,
    )
    start = Case(number, kind, air, Faults(), plan, charge)
    return KINDS[kind][1](start, chance)
