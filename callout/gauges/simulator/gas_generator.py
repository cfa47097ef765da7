"""Compressor, combustor and turbine matched at one instant: flows, heat, power.

Rule of this file: quasi-steady and in closed form, no iteration. Speed alone
sets the pressure (the compressor's map); the turbine's throat, by the law of
the ellipse, then sets the flow: hotter gas is thinner, so a flame throttles the
engine. The mass of the fuel is left out of the gas flow (below 2 %).
"""

from __future__ import annotations

from math import exp, sqrt
from typing import NamedTuple

from callout.gauges.simulator import gas_path
from callout.gauges.simulator.state import Machine, State

# cp (J/(kg K)) for the flow alone; the energies below use the gas's own.
CP_FOR_FLOW = 1100.0
LEAST_AIR = 1.0e-6  # kg/s, below which the air stands still


class GasFlow(NamedTuple):
    """The gas path at one instant.

    Fields:
        air: kg/s
        burnt: fuel burnt, kg/s
        intake: K
        exhaust: K
        compressor: W taken by the compressor
        turbine: W given by the turbine
        from_metal: W that the metal gives to the gas
    """

    air: float
    burnt: float
    intake: float
    exhaust: float
    compressor: float
    turbine: float
    from_metal: float


def intake_temperature(machine: Machine, state: State) -> float:
    """Intake air (K): a tailwind carries exhaust back to the intake."""
    air, tailwind = machine.air.kelvin, machine.faults.tailwind
    if tailwind <= 0.0 or state.gas_speed <= 0.0:
        return air
    return air + min(0.2, machine.parameters.probe.ingested * tailwind) * (state.probe - air)


def efficiency_at(full: float, loss: float, speed: float) -> float:
    """Efficiency of a compressor or turbine at a corrected speed of 0 .. about 1.1."""
    away = 1.0 - speed
    return full * (1.0 - loss * away * away)


def compression(machine: Machine, speed: float, intake: float) -> tuple[float, float]:
    """Pressure ratio and temperature rise (K) of the compressor.

    Args:
        machine: parameters
        speed: gas generator speed, share of full
        intake: K
    """
    compressor = machine.parameters.compressor
    corrected = speed * sqrt(288.15 / intake)
    ratio = 1.0 + (compressor.pressure_ratio - 1.0) * corrected * corrected
    efficiency = efficiency_at(compressor.efficiency, compressor.efficiency_loss, corrected)
    gamma = gas_path.heat_ratio(intake)
    return ratio, gas_path.compressor_rise(intake, ratio, efficiency, gamma)


def expansion_ratio(machine: Machine, ratio: float) -> float:
    """Pressure ratio over the turbine, after losses and against a tailwind."""
    loss = machine.parameters.turbine.pressure_loss
    return max(1.0, (1.0 + (ratio - 1.0) * (1.0 - loss)) / (1.0 + machine.wind_pressure))


def air_flow(
    machine: Machine, ratio: float, compressed: float, wanted: float, draught: float
) -> tuple[float, float]:
    """Air flow and fuel burnt (kg/s) through the turbine's throat.

    W^2 T4 = C^2 p^2 (r^2 - 1) with T4 = T3 + q / (W cp) is a quadratic in W.

    Args:
        machine: parameters and air
        ratio: over the turbine
        compressed: T3, K
        wanted: fuel that would burn, kg/s
        draught: chimney flow at rest, kg/s
    """
    throat = machine.swallowing * gas_path.turbine_flow_squared(machine.air.pascal, ratio)
    per_kg = machine.parameters.fuel.heating_value / CP_FOR_FLOW
    heat = wanted * per_kg
    root = heat + sqrt(heat * heat + 4.0 * compressed * throat)
    through = 2.0 * throat / root if root > 0.0 else 0.0
    air = sqrt(through * through + draught * draught)
    most = machine.parameters.combustor.most_burnt
    if wanted <= most * air:
        return air, wanted
    # All the air is used up: the flow is that of the hottest mixture.
    air = sqrt(throat / (compressed + most * per_kg) + draught * draught)
    return air, most * air


def draught(machine: Machine, state: State) -> float:
    """Chimney flow (kg/s) that hot metal draws through a standing engine."""
    above = max(0.0, state.metal - machine.air.kelvin) / 500.0
    return machine.parameters.combustor.draught * sqrt(above)


def gas_flow(machine: Machine, state: State, wanted: float) -> GasFlow:
    """Solve the gas path with this much fuel (kg/s) ready to burn."""
    speed = state.gas_speed / machine.parameters.shaft.full_speed
    intake = intake_temperature(machine, state)
    ratio, rise = compression(machine, speed, intake)
    compressed = intake + rise
    ratio = expansion_ratio(machine, ratio)
    air, burnt = air_flow(machine, ratio, compressed, wanted, draught(machine, state))
    if air < LEAST_AIR:
        return GasFlow(0.0, 0.0, intake, intake, 0.0, 0.0, 0.0)
    h_in, h_compressed = gas_path.enthalpy(intake), gas_path.enthalpy(compressed)
    h_burnt = h_compressed + burnt * machine.parameters.fuel.heating_value / air
    from_metal = _metal_heat(machine, state, air, gas_path.temperature(h_burnt))
    h_inlet = h_burnt + from_metal / air
    inlet = gas_path.temperature(h_inlet)
    exhaust = inlet - _drop(machine, speed, inlet, ratio)
    return GasFlow(
        air=air,
        burnt=burnt,
        intake=intake,
        exhaust=exhaust,
        compressor=air * (h_compressed - h_in),
        turbine=air * (h_inlet - gas_path.enthalpy(exhaust)),
        from_metal=from_metal,
    )


def _metal_heat(machine: Machine, state: State, air: float, gas: float) -> float:
    combustor = machine.parameters.combustor
    share = air / machine.parameters.turbine.design_air
    capacity = air * gas_path.heat_capacity(gas)
    exchanged = 1.0 - exp(-combustor.metal_to_gas * share**0.8 / capacity)
    return exchanged * capacity * (state.metal - gas)


def _drop(machine: Machine, speed: float, inlet: float, ratio: float) -> float:
    turbine = machine.parameters.turbine
    efficiency = efficiency_at(turbine.efficiency, turbine.efficiency_loss, speed)
    return gas_path.turbine_drop(inlet, ratio, efficiency, gas_path.heat_ratio(inlet))
