"""The air of the day: the standard atmosphere, altitudes, density altitude.

Rule of this file: heights are geopotential, as in the tables of ISO 2533, unless
a name says geometric. Many libraries take geometric height instead; at 1000 m
the two differ by 0.16 m, which is 2 Pa. Below 11 000 m only: helicopters live there.

Constants of ISO 2533 (as quoted in public tables): 288.15 K, 101 325 Pa,
6.5 K/km, 9.80665 m/s2, 287.05287 J/(kg K), nominal earth radius 6 356 766 m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

T0 = 288.15
P0 = 101_325.0
LAPSE = 0.0065
G0 = 9.80665
R_AIR = 287.05287
EARTH_RADIUS = 6_356_766.0
TROPOPAUSE = 11_000.0
LOWEST = -5_000.0
FOOT = 0.3048
ZERO_C = 273.15
RHO0 = P0 / (R_AIR * T0)
_PRESSURE_EXPONENT = G0 / (LAPSE * R_AIR)
_DENSITY_EXPONENT = _PRESSURE_EXPONENT - 1.0


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

    @property
    def sound_speed(self) -> float:
        """Speed of sound, m/s (ratio of specific heats 1.4)."""
        return math.sqrt(1.4 * R_AIR * self.kelvin)


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


def geopotential(geometric_m: float) -> float:
    """Geopotential height (m) of a geometric height (m) above mean sea level."""
    return EARTH_RADIUS * geometric_m / (EARTH_RADIUS + geometric_m)


def geometric(geopotential_m: float) -> float:
    """Geometric height (m) of a geopotential height (m)."""
    return EARTH_RADIUS * geopotential_m / (EARTH_RADIUS - geopotential_m)


def pressure_altitude(pascal: float) -> float:
    """Pressure altitude (ft, geopotential) where the standard air has this pressure (Pa)."""
    return T0 / LAPSE * (1.0 - math.pow(pascal / P0, 1.0 / _PRESSURE_EXPONENT)) / FOOT


def density_altitude(pressure_altitude_ft: float, outside_c: float) -> float:
    """Density altitude of dry air (ft, geopotential), exact for the standard atmosphere."""
    density = air_at(pressure_altitude_ft, outside_c).density
    return T0 / LAPSE * (1.0 - math.pow(density / RHO0, 1.0 / _DENSITY_EXPONENT)) / FOOT


def density_altitude_by_thumb(pressure_altitude_ft: float, outside_c: float) -> float:
    """Density altitude (ft) by the pilot's rule: 120 ft for each degree above standard.

    Standard is 15 degC less 1.98 for each 1000 ft. Good for a look, not for a limit.
    """
    return pressure_altitude_ft + 120.0 * (outside_c - (15.0 - 1.98e-3 * pressure_altitude_ft))


def density_altitude_moist(inches_hg: float, outside_c: float, dew_point_c: float | None) -> float:
    """Density altitude (ft) by the US weather service's formula with virtual temperature.

    Args:
        inches_hg: station pressure, inHg
        outside_c: air temperature, degC
        dew_point_c: dew point, degC; None for dry air
    """
    vapour = 0.0
    if dew_point_c is not None:
        vapour = 6.11 * 10.0 ** (7.5 * dew_point_c / (237.7 + dew_point_c))
    millibar = inches_hg * 33.8639
    virtual_k = (outside_c + ZERO_C) / (1.0 - 0.378 * vapour / millibar)
    virtual_rankine = virtual_k * 1.8
    return 145_366.0 * (1.0 - math.pow(17.326 * inches_hg / virtual_rankine, 0.235))
