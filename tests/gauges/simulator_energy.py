"""Where every joule comes from and goes to: the simulator's own audit.

Rule of this file: it reads the same solved instant as the step and changes
nothing. Heat and enthalpy are counted above the air of the day.
"""

from __future__ import annotations

from dataclasses import dataclass

from callout.gauges.simulator.electric import inner_resistance, resting_voltage
from callout.gauges.simulator.gas_path import enthalpy
from callout.gauges.simulator.rotor import gearing
from callout.gauges.simulator.state import Controls, Machine, State
from callout.gauges.simulator.working import working


@dataclass(frozen=True, slots=True)
class Power:
    """Power across the machine's boundary at one instant, W.

    Fields:
        fuel: heating value of the metered fuel
        starter: the starter's work on the shaft
        intake: warm air breathed in (tailwind)
        exhaust: enthalpy of the exhaust
        unburnt: heating value of fuel that leaves unburnt
        cooling: metal and oil to the air
        rotor: air and friction that slow the rotor
        clutch: heat of the slipping clutch
        generator: taken from the shaft
    """

    fuel: float
    starter: float
    intake: float
    exhaust: float
    unburnt: float
    cooling: float
    rotor: float
    clutch: float
    generator: float

    @property
    def given(self) -> float:
        """What goes in, W."""
        return self.fuel + self.starter + self.intake

    @property
    def taken(self) -> float:
        """What comes out, W."""
        heat = self.exhaust + self.unburnt + self.cooling
        return heat + self.rotor + self.clutch + self.generator


def power(machine: Machine, state: State, controls: Controls) -> Power:
    """Audit one instant."""
    p, now, air = machine.parameters, working(machine, state, controls), machine.air.kelvin
    still, value = enthalpy(air), p.fuel.heating_value
    slip = state.gas_speed / gearing(machine) - state.rotor_speed
    lost = now.fuel.cleared + now.fuel.missed + now.fuel.wanted - now.gas.burnt
    return Power(
        fuel=now.fuel.metered * value,
        starter=now.current.torque * state.gas_speed,
        intake=now.gas.air * (enthalpy(now.gas.intake) - still),
        exhaust=now.gas.air * (enthalpy(now.gas.exhaust) - still),
        unburnt=lost * value,
        cooling=p.combustor.metal_to_air * (state.metal - air)
        + p.shaft.oil_to_air * (state.oil - air),
        rotor=now.rotor_drag * state.rotor_speed,
        clutch=now.clutch * slip,
        generator=now.current.shaft_load,
    )


def stored(machine: Machine, state: State) -> float:
    """Energy (J) in motion, warm metal, warm oil and pooled fuel."""
    p, air = machine.parameters, machine.air.kelvin
    motion = p.shaft.inertia * state.gas_speed**2 + p.rotor.inertia * state.rotor_speed**2
    heat = p.combustor.metal_heat * (state.metal - air) + p.shaft.oil_heat * (state.oil - air)
    return 0.5 * motion + heat + state.pool * p.fuel.heating_value


def electric_balance(machine: Machine, state: State, controls: Controls) -> tuple[float, float]:
    """Power (W) of the battery or ground power as (given, used).

    Used: inner resistance, starter windings, starter work, loads, heat of charging.
    """
    electric = machine.parameters.electric
    current = working(machine, state, controls).current
    if current.shaft_load > 0.0:
        return 0.0, 0.0
    voltage, resistance = resting_voltage(electric, state.charge), inner_resistance(machine, state)
    if controls.ground_power:
        voltage, resistance = electric.ground_voltage, electric.ground_resistance
    loads = electric.base_load + (electric.igniter_load if controls.igniter else 0.0)
    total = current.starter + loads
    windings = machine.parameters.starter.resistance * machine.faults.starter_resistance
    used = total**2 * resistance + current.starter**2 * windings
    return voltage * total, used + current.torque * state.gas_speed + current.volts * loads
