"""Fuel metering, the spark, the flame and the fuel that lies about unburnt.

Rule of this file: nothing lights without air, fuel and a spark together; the
one exception is the fault "fuel leak", whose fuel may catch on hot metal at rest.
Flows in kg/s.
"""

from __future__ import annotations

from typing import NamedTuple

from callout.gauges.simulator.state import Controls, Machine, State


class Burning(NamedTuple):
    """Fuel at one instant, kg/s.

    Fields:
        metered: through the nozzle
        wanted: would burn if there were air enough
        pool_rate: change of the pool
        cleared: leaves the engine unburnt from the pool (drain, vapour)
        missed: nozzle fuel that passes the flame unburnt
    """

    metered: float
    wanted: float
    pool_rate: float
    cleared: float
    missed: float


def metered(machine: Machine, state: State, controls: Controls) -> float:
    """Fuel flow (kg/s) through the nozzle.

    The pump's relief valve holds its pressure once the engine turns; the lever
    closes the bypass by hand, so that below the governed speed the flow belongs
    to the lever alone. The governor, set by the grip, opens the bypass again.
    """
    faults, fuel = machine.faults, machine.parameters.fuel
    if state.fuel <= 0.0 or faults.fuel_stops <= state.at < faults.fuel_returns:
        return 0.0
    flow = 0.0
    if controls.fuel > 0.0:
        share = state.gas_speed / machine.parameters.shaft.full_speed
        pressure = min(1.0, share / fuel.pump_speed)
        chosen = fuel.idle_speed + controls.grip * (fuel.flight_speed - fuel.idle_speed)
        governed = min(1.0, max(0.0, (chosen + fuel.governor_band - share) / fuel.governor_band))
        hand = min(1.0, controls.fuel * faults.fuel_excess)
        flow = min(hand, governed) * fuel.full_flow * pressure
    if faults.fuel_leak > 0.0 and state.at >= faults.fuel_leak_from:
        flow = max(flow, faults.fuel_leak)
    return flow


def burning(machine: Machine, state: State, flow: float) -> Burning:
    """Share out the metered fuel (flow, kg/s) between flame, pool and exhaust."""
    combustor = machine.parameters.combustor
    share = state.gas_speed / machine.parameters.shaft.full_speed
    efficiency = combustor.efficiency * (
        1.0 - combustor.efficiency_loss * (1.0 - min(1.0, share)) ** 2
    )
    sprayed = flow * state.flame
    from_pool = state.pool * state.flame / combustor.pool_burn
    cleared = state.pool * (1.0 / combustor.pool_drain + share / combustor.pool_vapour)
    return Burning(
        metered=flow,
        wanted=sprayed * efficiency + from_pool,
        pool_rate=flow - sprayed - from_pool - cleared,
        cleared=cleared,
        missed=sprayed * (1.0 - efficiency),
    )


def spark(machine: Machine, controls: Controls, volts: float) -> bool:
    """Whether the igniter sparks."""
    able = volts >= machine.parameters.electric.igniter_voltage
    return controls.igniter and able and not machine.faults.igniter_dead


def kernel_rate(machine: Machine, flow: float, air: float, *, sparks: bool) -> float:
    """Progress of the ignition per second; negative where nothing can light.

    Args:
        machine: parameters and air
        flow: metered fuel, kg/s
        air: air flow, kg/s
        sparks: whether the igniter sparks
    """
    combustor = machine.parameters.combustor
    share = air / machine.parameters.turbine.design_air
    if not sparks or not combustor.least_air <= share <= combustor.most_air:
        return -5.0
    mixture = flow / air
    if not combustor.lean_to_light <= mixture <= combustor.rich_to_light:
        return -5.0
    # Cold air and thin air make the fuel slow to catch.
    cold = (288.15 / machine.air.kelvin) ** 3
    return 1.0 / (combustor.ignition_delay * cold * (101_325.0 / machine.air.pascal))


def catches_on_metal(machine: Machine, state: State, flow: float, air: float) -> bool:
    """Whether leaking fuel catches fire on hot metal of an engine at rest."""
    combustor = machine.parameters.combustor
    still = air < 0.05 * machine.parameters.turbine.design_air
    leaks = machine.faults.fuel_leak > 0.0 and flow > 0.0
    return leaks and still and state.metal > combustor.catches_fire and air > 0.0


def goes_out(machine: Machine, state: State, flow: float, air: float) -> bool:
    """Whether the mixture is too lean to keep the flame, or there is no air at all."""
    combustor = machine.parameters.combustor
    supply = flow + state.pool / combustor.pool_burn
    return air <= 0.0 or supply < combustor.lean_to_burn * air
