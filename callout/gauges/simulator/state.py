"""What the machine is at one instant, and what the pilot's hands do to it.

Rule of this file: plain frozen values; nothing moves here. SI units inside
(rad/s, K, kg, s); people's units come out of readings.py only.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from callout.gauges.simulator.atmosphere import P0, SEA_LEVEL, Air
from callout.gauges.simulator.faults import Faults
from callout.gauges.simulator.gas_path import turbine_flow_squared
from callout.gauges.simulator.parameters import Parameters

SOUND = Faults()
INVENTED_MACHINE = Parameters()


@dataclass(frozen=True)
class Machine:
    """One machine on one day: its numbers, the air around it, its faults."""

    parameters: Parameters = INVENTED_MACHINE
    air: Air = SEA_LEVEL
    faults: Faults = SOUND

    @cached_property
    def swallowing(self) -> float:
        """Square of the turbine's swallowing capacity C^2, (kg/s)^2 K / Pa^2.

        From the design point, so that the law of the ellipse passes through it.
        """
        turbine = self.parameters.turbine
        rise = self.parameters.compressor.pressure_ratio - 1.0
        ratio = 1.0 + rise * (1.0 - turbine.pressure_loss)
        ellipse = turbine_flow_squared(P0, ratio)
        return turbine.design_air**2 * turbine.design_inlet / ellipse

    @cached_property
    def wind_pressure(self) -> float:
        """Pressure that a tailwind puts on the exhaust, as a share of the air's."""
        return 0.5 * self.air.density * self.faults.tailwind**2 / self.air.pascal


@dataclass(frozen=True, slots=True)
class Controls:
    """Where the pilot's hands are, held through one step.

    Fields:
        starter: starter switch held
        igniter: igniter on
        fuel: fuel lever, 0 closed (all bypassed) .. 1 open
        grip: twist grip, 0 idle .. 1 full
        pitch: collective, 0 flat .. 1 full
        ground_power: ground power plugged in and on

    Raises ValueError for a lever outside 0 .. 1.
    """

    starter: bool = False
    igniter: bool = False
    fuel: float = 0.0
    grip: float = 0.0
    pitch: float = 0.0
    ground_power: bool = False

    def __post_init__(self) -> None:
        for name in ("fuel", "grip", "pitch"):
            value = getattr(self, name)
            if not 0.0 <= value <= 1.0:
                raise ValueError(f"The control '{name}' is {value}: it goes from 0 to 1.")


HANDS_OFF = Controls()


@dataclass(frozen=True, slots=True)
class State:
    """The machine at one instant.

    Fields:
        at: s since the beginning
        gas_speed: gas generator, rad/s
        rotor_speed: rotor, rad/s
        metal: hot parts, K
        probe: exhaust thermocouple, K
        oil: oil, K
        oil_pressure: bar, as the gauge shows it
        battery: battery, K
        charge: battery, 0 empty .. 1 full
        pool: unburnt liquid fuel lying in the combustor, kg
        fuel: in the tank, kg
        kernel: progress of the ignition, 0 .. 1; at 1 it lights
        flame: how far the flame has spread, 0 .. 1
        lit: whether there is a flame
        meshed: whether the starter is in mesh and draws current
        let_go: s that the starter has stayed in mesh since its switch was let go
        volts, amps: bus voltage (V) and starter current (A) at the end of the step
    """

    at: float
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
    kernel: float = 0.0
    flame: float = 0.0
    lit: bool = False
    meshed: bool = False
    let_go: float = 0.0
    volts: float = 0.0
    amps: float = 0.0
