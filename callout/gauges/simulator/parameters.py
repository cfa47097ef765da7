"""The invented machine: every number of the simulator, with its unit and origin.

Rule of this file: numbers only, in frozen dataclasses; each carries what it is,
its unit and where it comes from. None is taken from a real engine or aircraft.
"common practice, no source" marks what people of the trade take for usual.
"""

from __future__ import annotations

from dataclasses import dataclass, field

INVENTED = "invented"
PRACTICE = "common practice, no source"
MEMORY = "handbook value, from memory"


def about(unit: str, what: str, source: str = INVENTED) -> dict[str, str]:
    """Say what a number is: unit, meaning, origin."""
    return {"unit": unit, "what": what, "source": source}


@dataclass(frozen=True, slots=True)
class Compressor:
    """The map: pressure ratio and efficiency belong to corrected speed alone."""

    pressure_ratio: float = field(default=3.4, metadata=about("1", "at full corrected speed"))
    efficiency: float = field(default=0.79, metadata=about("1", "at full corrected speed"))
    efficiency_loss: float = field(
        default=0.55, metadata=about("1", "share lost towards standstill, with (1 - n)^2")
    )


@dataclass(frozen=True, slots=True)
class Turbine:
    """The map: flow by the law of the ellipse, efficiency by speed."""

    efficiency: float = field(default=0.84, metadata=about("1", "at full speed"))
    efficiency_loss: float = field(
        default=0.55, metadata=about("1", "share lost towards standstill, with (1 - n)^2")
    )
    pressure_loss: float = field(
        default=0.05, metadata=about("1", "share of the pressure rise lost before the turbine")
    )
    design_air: float = field(default=0.95, metadata=about("kg/s", "air flow at the design point"))
    design_inlet: float = field(
        default=1150.0, metadata=about("K", "turbine inlet at the design point")
    )


@dataclass(frozen=True, slots=True)
class Fuel:
    """Pump, bypass metering and what the fuel gives."""

    heating_value: float = field(
        default=43.0e6, metadata=about("J/kg", "lower heating value of kerosene", MEMORY)
    )
    density: float = field(default=0.80, metadata=about("kg/l", "kerosene", MEMORY))
    full_flow: float = field(default=0.0180, metadata=about("kg/s", "lever open, bypass closed"))
    pump_speed: float = field(
        default=0.10, metadata=about("1", "speed from which the relief valve holds the pressure")
    )
    idle_speed: float = field(
        default=0.75, metadata=about("1", "where the governor begins to trim, grip closed")
    )
    flight_speed: float = field(
        default=0.97, metadata=about("1", "where the governor begins to trim, grip open")
    )
    governor_band: float = field(
        default=0.08, metadata=about("1", "speed from there to no fuel at all")
    )


@dataclass(frozen=True, slots=True)
class Combustor:
    """Light-off, flame, pooled fuel and the metal around them."""

    least_air: float = field(
        default=0.055, metadata=about("1", "share of design air flow below which nothing lights")
    )
    most_air: float = field(
        default=0.75,
        metadata=about("1", "share of design air flow above which the spark blows out"),
    )
    lean_to_light: float = field(default=0.006, metadata=about("1", "least fuel/air to light"))
    rich_to_light: float = field(default=0.070, metadata=about("1", "most fuel/air to light"))
    lean_to_burn: float = field(default=0.0025, metadata=about("1", "flame goes out below"))
    most_burnt: float = field(
        default=0.066, metadata=about("1", "fuel/air that uses up the air (kerosene)", MEMORY)
    )
    ignition_delay: float = field(default=0.8, metadata=about("s", "spark to flame at 15 degC"))
    spread: float = field(default=0.4, metadata=about("s", "time constant of the flame's growth"))
    efficiency: float = field(default=0.99, metadata=about("1", "heat released, at speed"))
    efficiency_loss: float = field(
        default=0.30, metadata=about("1", "share lost towards standstill, with (1 - n)^2")
    )
    pool_burn: float = field(default=1.6, metadata=about("s", "time constant: pool to flame"))
    pool_drain: float = field(default=45.0, metadata=about("s", "time constant: drain valve"))
    pool_vapour: float = field(
        default=5.0, metadata=about("s", "time constant: pool blown out at design air flow")
    )
    metal_heat: float = field(default=4500.0, metadata=about("J/K", "heat capacity of hot parts"))
    metal_to_gas: float = field(
        default=160.0, metadata=about("W/K", "heat transfer at design flow, with flow^0.8")
    )
    metal_to_air: float = field(default=2.2, metadata=about("W/K", "heat lost through the cowling"))
    draught: float = field(
        default=0.007, metadata=about("kg/s", "chimney flow at rest, metal 500 K above air")
    )
    catches_fire: float = field(
        default=490.0, metadata=about("K", "kerosene catches fire on metal above", MEMORY)
    )


@dataclass(frozen=True, slots=True)
class Shaft:
    """Gas generator shaft with the gearbox that it drives, and its oil."""

    full_speed: float = field(default=5400.0, metadata=about("rad/s", "100 %"))
    inertia: float = field(default=0.045, metadata=about("kg m2", "gearbox included"))
    drag: float = field(default=0.70, metadata=about("N m", "bearings and pumps, at 15 degC oil"))
    drag_with_speed: float = field(default=0.70, metadata=about("N m", "added at 100 %"))
    drag_cold: float = field(default=0.012, metadata=about("1/K", "drag grows as oil cools, exp"))
    warm_oil: float = field(default=288.15, metadata=about("K", "oil at which drag is as given"))
    oil_heat: float = field(default=9000.0, metadata=about("J/K", "oil and gearbox"))
    oil_from_metal: float = field(default=2.0, metadata=about("W/K", "turbine bearing"))
    oil_to_air: float = field(default=38.0, metadata=about("W/K", "oil cooler"))
    oil_pressure: float = field(default=4.2, metadata=about("bar", "at 100 %, warm"))
    oil_lag: float = field(default=0.9, metadata=about("s", "gauge and line"))


@dataclass(frozen=True, slots=True)
class Starter:
    """A series-wound motor: torque k i^2, back voltage k i w, at the engine's shaft."""

    constant: float = field(default=2.2e-5, metadata=about("V s/(A rad)", "k"))
    resistance: float = field(default=0.012, metadata=about("ohm", "windings, brushes and cable"))


@dataclass(frozen=True, slots=True)
class Electric:
    """Battery, ground power, generator and what draws current."""

    full_voltage: float = field(default=25.5, metadata=about("V", "charged, at rest", PRACTICE))
    empty_voltage: float = field(default=23.0, metadata=about("V", "discharged, at rest", PRACTICE))
    capacity: float = field(default=17.0, metadata=about("A h", "of the battery"))
    resistance: float = field(default=0.008, metadata=about("ohm", "charged, 25 degC"))
    resistance_cold: float = field(default=0.016, metadata=about("1/K", "grows as it cools, exp"))
    resistance_empty: float = field(default=1.2, metadata=about("1", "added share when empty"))
    battery_heat: float = field(default=14_000.0, metadata=about("J/K", "about 14 kg"))
    battery_to_air: float = field(default=1.5, metadata=about("W/K", "case to air"))
    ground_voltage: float = field(default=28.3, metadata=about("V", "ground power", PRACTICE))
    ground_resistance: float = field(default=0.008, metadata=about("ohm", "unit and cable"))
    bus_voltage: float = field(default=28.5, metadata=about("V", "generator on line", PRACTICE))
    generator_speed: float = field(default=0.60, metadata=about("1", "generator on line above"))
    generator_efficiency: float = field(default=0.70, metadata=about("1", "shaft to bus"))
    charge_limit: float = field(default=40.0, metadata=about("A", "most into the battery"))
    base_load: float = field(default=8.0, metadata=about("A", "radio, gauges, pump"))
    igniter_load: float = field(default=3.0, metadata=about("A", "igniter"))
    igniter_voltage: float = field(default=9.0, metadata=about("V", "no spark below"))


@dataclass(frozen=True, slots=True)
class Rotor:
    """Main rotor behind a gearbox, a centrifugal clutch and a freewheel."""

    full_speed: float = field(default=52.0, metadata=about("rad/s", "100 %"))
    inertia: float = field(default=200.0, metadata=about("kg m2", "blades and hub"))
    flat_drag: float = field(default=550.0, metadata=about("N m", "at 100 %, flat pitch, ISA"))
    pitch_drag: float = field(default=1500.0, metadata=about("N m", "added at full pitch"))
    friction: float = field(default=22.0, metadata=about("N m", "gearbox and bearings"))
    clutch_bites: float = field(default=0.55, metadata=about("1", "engine speed where shoes touch"))
    clutch_torque: float = field(default=4200.0, metadata=about("N m", "at the rotor, at 100 %"))
    clutch_slip: float = field(default=0.8, metadata=about("rad/s", "slip for 3/4 of the torque"))


@dataclass(frozen=True, slots=True)
class Probe:
    """The exhaust thermocouple."""

    lag: float = field(default=0.45, metadata=about("s", "time constant at design air flow"))
    still_air: float = field(
        default=0.01, metadata=about("1", "share of design flow where soak takes over")
    )
    soak: float = field(
        default=0.5, metadata=about("1", "share of the metal's heat it sees at rest")
    )
    ingested: float = field(
        default=0.002, metadata=about("s/m", "share of exhaust breathed in per m/s tailwind")
    )


@dataclass(frozen=True, slots=True)
class Parameters:
    """All of the machine."""

    compressor: Compressor = Compressor()
    turbine: Turbine = Turbine()
    fuel: Fuel = Fuel()
    combustor: Combustor = Combustor()
    shaft: Shaft = Shaft()
    starter: Starter = Starter()
    electric: Electric = Electric()
    rotor: Rotor = Rotor()
    probe: Probe = Probe()
