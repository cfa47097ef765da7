"""The air of the day: the standard atmosphere, and the air at a pressure altitude.

Rule of this file: heights are geopotential, as in the tables of ISO 2533. Many
libraries take geometric height instead; at 1000 m the two differ by 0.16 m, which
is 2 Pa. Below 11 000 m only: helicopters live there.

Constants of ISO 2533 (as quoted in public tables): 288.15 K, 101 325 Pa,
6.5 K/km, 9.80665 m/s2, 287.05287 J/(kg K).
"""

from __future__ import annotations

from dataclasses import dataclass

T0 = 288.15
P0 = 101_325.0
LAPSE = 0.0065
G0 = 9.80665
R_AIR = 287.05287
TROPOPAUSE = 11_000.0
LOWEST = -5_000.0
FOOT = 0.3048
ZERO_C = 273.15
RHO0 = P0 / (R_AIR * T0)
_PRESSURE_EXPONENT = G0 / (LAPSE * R_AIR)


@dataclass(frozen=True, slots=True)
class Air:
    """Still air around the aircraft.

    Fields:
        kelvin: temperature, K
        pascal: static pressure, Pa
    """

    kelvin: float
    pascal: float

    def __post_init__(self) -> None:
        if not 150.0 < self.kelvin < 350.0:
            raise ValueError(
                f"Air of {self.kelvin} K is not on this earth: give 150 to 350 K (is it in °C?)."
            )
        if not 20_000.0 < self.pascal < 120_000.0:
            raise ValueError(
                f"Air pressure of {self.pascal} Pa is out of range: give 20 000 to 120 000 Pa."
            )

    @property
    def density(self) -> float:
        """Dry air density, kg/m3."""
        return self.pascal / (R_AIR * self.kelvin)


def standard_air(height_m: float) -> Air:
    """ISO 2533 air at a geopotential height in metres, -5000 to 11 000.

    Raises ValueError outside that layer.
    """
    if not LOWEST <= height_m <= TROPOPAUSE:
        raise ValueError(
            f"A height of {height_m} m is outside this atmosphere: give -5000 to 11 000 m."
        )
    kelvin = T0 - LAPSE * height_m
    return Air(kelvin, P0 * (kelvin / T0) ** _PRESSURE_EXPONENT)


SEA_LEVEL = standard_air(0.0)


def air_at(pressure_altitude_ft: float, outside_c: float) -> Air:
    """Air at a pressure altitude (ft, geopotential) with a measured temperature (degC)."""
    return Air(outside_c + ZERO_C, standard_air(pressure_altitude_ft * FOOT).pascal)
