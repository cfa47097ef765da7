"""Questions that need no run: from which speed can the engine turn itself.

Rule of this file: built from the same maps as the step, by bisection; nothing here
is used by the step.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from callout.gauges.simulator.atmosphere import ZERO_C
from callout.gauges.simulator.gas_generator import GasFlow, gas_flow
from callout.gauges.simulator.rest import at_rest
from callout.gauges.simulator.state import Machine, State
from callout.gauges.simulator.working import shaft_drag


def self_sustaining_speed(machine: Machine, exhaust_c: float, metal: float) -> float:
    """Gas generator speed (%) from which the engine accelerates without its starter.

    Below the clutch's bite, at the exhaust temperature to which the pilot holds it.

    Args:
        machine: parameters and air
        exhaust_c: degC
        metal: temperature of the hot parts, K: while cold they take heat from the gas

    Raises ValueError if it cannot turn itself below the clutch's bite at all.
    """
    bite = machine.parameters.rotor.clutch_bites

    def torque(speed: float) -> float:
        return accelerating_torque(machine, speed, exhaust_c, metal)

    if torque(bite) <= 0.0:
        raise ValueError(
            f"At {exhaust_c} °C this engine never turns itself below {100 * bite:.0f} %: "
            "give a hotter exhaust."
        )
    return 100.0 * _crossing(torque, 0.05, bite)


def accelerating_torque(machine: Machine, speed: float, exhaust_c: float, metal: float) -> float:
    """Torque (N m) left to accelerate a lit engine without starter, rotor, generator.

    Args:
        machine: parameters and air
        speed: share of full speed
        exhaust_c: degC to which the fuel is trimmed
        metal: K
    """
    state = _turning(machine, speed, metal)
    gas = gas_at_exhaust(machine, state, exhaust_c + ZERO_C)
    return (gas.turbine - gas.compressor) / state.gas_speed - shaft_drag(machine, state)


def gas_at_exhaust(machine: Machine, state: State, exhaust: float) -> GasFlow:
    """The gas path with so much fuel burning that the exhaust has this temperature (K)."""

    def above(fuel: float) -> float:
        return gas_flow(machine, state, fuel).exhaust - exhaust

    fuel = _crossing(above, 0.0, machine.parameters.fuel.full_flow)
    return gas_flow(machine, state, fuel)


def _turning(machine: Machine, speed: float, metal: float) -> State:
    still = at_rest(machine, metal=metal)
    return replace(still, gas_speed=speed * machine.parameters.shaft.full_speed)


def _crossing(rising: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if rising(middle) > 0.0 else (middle, high)
    return 0.5 * (low + high)
