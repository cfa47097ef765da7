"""Everything that flows at one instant, and how fast the state changes by it.

Rule of this file: one function solves the instant, one turns it into rates; both
step.py and energy.py read the same solution, so that no watt is counted twice.
"""

from __future__ import annotations

from math import exp, sqrt
from typing import NamedTuple

from callout.gauges.simulator.combustor import Burning, burning, kernel_rate, metered, spark
from callout.gauges.simulator.electric import Currents, currents
from callout.gauges.simulator.gas_generator import GasFlow, gas_flow
from callout.gauges.simulator.rotor import clutch_torque, gearing, rotor_drag
from callout.gauges.simulator.state import Controls, Machine, State


class Working(NamedTuple):
    """The solved instant: electric side, fuel, gas, and torques in N m.

    Fields:
        current: see Currents
        fuel: see Burning
        gas: see GasFlow
        drag: on the engine's shaft
        clutch: at the rotor
        rotor_drag: at the rotor
    """

    current: Currents
    fuel: Burning
    gas: GasFlow
    drag: float
    clutch: float
    rotor_drag: float


class Rates(NamedTuple):
    """Change per second of the state's field of the same name."""

    gas_speed: float
    rotor_speed: float
    metal: float
    probe: float
    oil: float
    oil_pressure: float
    battery: float
    charge: float
    pool: float
    fuel: float
    kernel: float
    flame: float


def working(machine: Machine, state: State, controls: Controls) -> Working:
    """Solve one instant."""
    flow = metered(machine, state, controls)
    fuel = burning(machine, state, flow)
    return Working(
        current=currents(machine, state, controls),
        fuel=fuel,
        gas=gas_flow(machine, state, fuel.wanted),
        drag=shaft_drag(machine, state),
        clutch=clutch_torque(machine, state),
        rotor_drag=rotor_drag(machine, state, controls),
    )


def shaft_drag(machine: Machine, state: State) -> float:
    """Torque (N m) of bearings, gears and pumps; cold oil is stiff."""
    shaft = machine.parameters.shaft
    speed = state.gas_speed / shaft.full_speed
    stiff = exp(shaft.drag_cold * (shaft.warm_oil - state.oil))
    return (shaft.drag + shaft.drag_with_speed * speed) * stiff


def rates(machine: Machine, state: State, controls: Controls, now: Working) -> Rates:
    """Turn a solved instant into the change of the state per second."""
    p, air = machine.parameters, machine.air.kelvin
    gas, fuel, current = now.gas, now.fuel, now.current
    drag_heat = now.drag * state.gas_speed
    bearing = p.shaft.oil_from_metal * (state.metal - state.oil)
    cooled = p.combustor.metal_to_air * (state.metal - air)
    sparks = spark(machine, controls, current.volts)
    return Rates(
        gas_speed=_shaft_torque(machine, state, now) / p.shaft.inertia,
        rotor_speed=(now.clutch - now.rotor_drag) / p.rotor.inertia,
        metal=-(gas.from_metal + bearing + cooled) / p.combustor.metal_heat,
        probe=_probe_rate(machine, state, gas),
        oil=(drag_heat + bearing - p.shaft.oil_to_air * (state.oil - air)) / p.shaft.oil_heat,
        oil_pressure=(_oil_pressure(machine, state) - state.oil_pressure) / p.shaft.oil_lag,
        battery=(current.battery_heat - p.electric.battery_to_air * (state.battery - air))
        / p.electric.battery_heat,
        charge=-current.battery / (3600.0 * p.electric.capacity),
        pool=fuel.pool_rate,
        fuel=-fuel.metered,
        kernel=0.0 if state.lit else kernel_rate(machine, fuel.metered, gas.air, sparks=sparks),
        flame=(1.0 - state.flame) / p.combustor.spread if state.lit else 0.0,
    )


def _shaft_torque(machine: Machine, state: State, now: Working) -> float:
    # Both powers fall with the cube of speed, so the guard at rest changes nothing.
    speed = max(state.gas_speed, 1.0)
    net = now.gas.turbine - now.gas.compressor - now.current.shaft_load
    return now.current.torque + net / speed - now.drag - now.clutch / gearing(machine)


def _probe_rate(machine: Machine, state: State, gas: GasFlow) -> float:
    probe, design = machine.parameters.probe, machine.parameters.turbine.design_air
    outside = machine.air.kelvin
    still = probe.still_air * design
    soaked = outside + probe.soak * (state.metal - outside)
    # A flame at rest stands in its own draught, so the probe sees it whole.
    seen = 1.0 if state.lit else gas.air / (gas.air + still)
    target = seen * gas.exhaust + (1.0 - seen) * soaked
    return (target - state.probe) / (probe.lag * sqrt(design / (gas.air + still)))


def _oil_pressure(machine: Machine, state: State) -> float:
    shaft = machine.parameters.shaft
    speed = state.gas_speed / shaft.full_speed
    stiff = exp(0.5 * shaft.drag_cold * (330.0 - state.oil))
    return shaft.oil_pressure * min(1.6, stiff * sqrt(speed)) if speed > 0.0 else 0.0
