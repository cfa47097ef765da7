"""A temperature of the engine as it would be on a standard day.

Rule of this file: one formula, its source beside it.

Turbine temperatures in kelvin grow with that of the air that the engine takes in, for
the same corrected speeds (similarity of flow: Walsh and Fletcher, Gas Turbine
Performance, on referred parameters; from memory). So T / theta is compared, theta =
T_air / 288.15 K. The standard day has 288.15 K at sea level: ICAO Doc 7488, ISO 2533.
In a start, which is no steady running, it is an approximation.
"""

from __future__ import annotations

KELVIN = 273.15
STANDARD = 288.15
"""K, of the air at sea level on a standard day."""


def standard_day(celsius: float, air: float) -> float:
    """What would have been seen at 15 degC outside, instead of `air` (both degC)."""
    theta = (air + KELVIN) / STANDARD
    return (celsius + KELVIN) / theta - KELVIN
