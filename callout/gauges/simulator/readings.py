"""What the gauges would show if every sensor were honest.

Rule of this file: SI in, people's units out; the names are those of the example
aircraft files, so that a simulated feed fits them.
"""

from __future__ import annotations

from callout.gauges.simulator.atmosphere import ZERO_C
from callout.gauges.simulator.state import Machine, State

GAS_SPEED = "gas-generator-speed"
EXHAUST = "exhaust-temperature"
ROTOR_SPEED = "rotor-speed"
VOLTAGE = "battery-voltage"
STARTER_CURRENT = "starter-current"
STARTER_LIGHT = "starter-light"
OIL_PRESSURE = "oil-pressure"
OIL_TEMPERATURE = "oil-temperature"
FUEL = "fuel-quantity"

UNITS = {
    GAS_SPEED: "%",
    EXHAUST: "degC",
    ROTOR_SPEED: "%",
    VOLTAGE: "V",
    STARTER_CURRENT: "A",
    STARTER_LIGHT: "1",
    OIL_PRESSURE: "bar",
    OIL_TEMPERATURE: "degC",
    FUEL: "l",
}


def readings(machine: Machine, state: State) -> dict[str, float]:
    """Every gauge by name, in the unit that UNITS gives."""
    p = machine.parameters
    return {
        GAS_SPEED: 100.0 * state.gas_speed / p.shaft.full_speed,
        EXHAUST: state.probe - ZERO_C,
        ROTOR_SPEED: 100.0 * state.rotor_speed / p.rotor.full_speed,
        VOLTAGE: state.volts,
        STARTER_CURRENT: state.amps,
        STARTER_LIGHT: 1.0 if state.meshed else 0.0,
        OIL_PRESSURE: state.oil_pressure,
        OIL_TEMPERATURE: state.oil - ZERO_C,
        FUEL: state.fuel / p.fuel.density,
    }
