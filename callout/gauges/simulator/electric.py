"""Battery, ground power, starter motor and generator: volts, amps, torque.

Rule of this file: no inductance, so that current follows voltage at once; the
series-wound motor then has a closed form: i = E / (R + k w), torque k i^2.
"""

from __future__ import annotations

from math import exp
from typing import NamedTuple

from callout.gauges.simulator.parameters import Electric
from callout.gauges.simulator.state import Controls, Machine, State

WARM_BATTERY = 298.15  # K, where the battery's resistance is as given


class Currents(NamedTuple):
    """The electric side at one instant.

    Fields:
        volts: at the bus
        starter: A through the starter
        battery: A out of the battery, negative while charging
        torque: of the starter at the engine's shaft, N m
        shaft_load: W that the generator takes from the shaft
        battery_heat: W that warm the battery
    """

    volts: float
    starter: float
    battery: float
    torque: float
    shaft_load: float
    battery_heat: float


def resting_voltage(electric: Electric, charge: float) -> float:
    """Voltage (V) of the battery without current at a charge of 0 .. 1."""
    return electric.empty_voltage + charge * (electric.full_voltage - electric.empty_voltage)


def inner_resistance(machine: Machine, state: State) -> float:
    """Inner resistance (ohm) of the battery: more when cold, empty or worn."""
    electric = machine.parameters.electric
    cold = exp(electric.resistance_cold * (WARM_BATTERY - state.battery))
    empty = 1.0 + electric.resistance_empty * (1.0 - state.charge)
    return electric.resistance * cold * empty * machine.faults.battery_resistance


def currents(machine: Machine, state: State, controls: Controls) -> Currents:
    """Solve the electric side with the starter in mesh or not."""
    electric = machine.parameters.electric
    loads = electric.base_load + (electric.igniter_load if controls.igniter else 0.0)
    if not state.meshed and _generator_turns(machine, state):
        return _generating(machine, state, loads, charging=not controls.ground_power)
    voltage = resting_voltage(electric, state.charge)
    resistance = inner_resistance(machine, state)
    if controls.ground_power:
        voltage, resistance = electric.ground_voltage, electric.ground_resistance
    amps, torque = 0.0, 0.0
    if state.meshed:
        amps, torque = _motor(machine, state, voltage - resistance * loads, resistance)
    total = amps + loads
    drawn = 0.0 if controls.ground_power else total
    volts = voltage - resistance * total
    return Currents(volts, amps, drawn, torque, 0.0, drawn * drawn * resistance)


def _motor(machine: Machine, state: State, volts: float, source: float) -> tuple[float, float]:
    starter = machine.parameters.starter
    windings = starter.resistance * machine.faults.starter_resistance
    amps = max(0.0, volts) / (windings + source + starter.constant * state.gas_speed)
    return amps, starter.constant * amps * amps


def _generator_turns(machine: Machine, state: State) -> bool:
    share = state.gas_speed / machine.parameters.shaft.full_speed
    return share > machine.parameters.electric.generator_speed


def _generating(machine: Machine, state: State, loads: float, *, charging: bool) -> Currents:
    electric = machine.parameters.electric
    into, heat = 0.0, 0.0
    if charging and state.charge < 1.0:
        resistance = inner_resistance(machine, state)
        spare = electric.bus_voltage - resting_voltage(electric, state.charge)
        # The last part of a charge tapers off.
        taper = min(1.0, 20.0 * (1.0 - state.charge))
        into = taper * min(electric.charge_limit, spare / resistance)
        heat = into * into * resistance
    load = electric.bus_voltage * (loads + into) / electric.generator_efficiency
    return Currents(electric.bus_voltage, 0.0, -into, 0.0, load, heat)
