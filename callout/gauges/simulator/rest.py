"""The machine before anything is switched on.

Rule of this file: it makes first states, and refuses those that cannot be.
"""

from __future__ import annotations

from callout.gauges.simulator.electric import resting_voltage
from callout.gauges.simulator.state import Machine, State


def at_rest(
    machine: Machine,
    *,
    metal: float | None = None,
    oil: float | None = None,
    battery: float | None = None,
    charge: float = 1.0,
    pool: float = 0.0,
    fuel_litres: float = 60.0,
) -> State:
    """Make the state of a machine that stands still, everything at air temperature.

    Args:
        machine: parameters, air and faults
        metal: K, for residual heat of an earlier run
        oil: K
        battery: K (a battery from a heated room, a cold-soaked one)
        charge: 0 .. 1
        pool: kg of fuel left in the combustor by a failed start
        fuel_litres: in the tank
    """
    air = machine.air.kelvin
    hot = air if metal is None else metal
    return State(
        at=0.0,
        gas_speed=0.0,
        rotor_speed=0.0,
        metal=hot,
        probe=air + machine.parameters.probe.soak * (hot - air),
        oil=air if oil is None else oil,
        oil_pressure=0.0,
        battery=air if battery is None else battery,
        charge=charge,
        pool=pool,
        fuel=fuel_litres * machine.parameters.fuel.density,
        volts=resting_voltage(machine.parameters.electric, charge),
    )
