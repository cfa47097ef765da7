"""Compression, combustion and expansion of a gas: the few formulas of a gas turbine.

Rule of this file: pure thermodynamics, no engine in it. Temperatures and
pressures are stagnation values; K, J/kg. The formulas stand in every textbook
on gas turbines and are checked against worked examples in the tests.
"""

from __future__ import annotations

import math

R_GAS = 287.05

# cp of air rises with temperature: 1005 J/(kg K) at 300 K, 1141 at 1000 K (air
# tables, from memory). A straight line through both is within 1.5 % up to 1300 K.
CP_AT_ZERO = 946.7
CP_SLOPE = 0.1943


def heat_capacity(kelvin: float) -> float:
    """Heat capacity cp of the working gas, J/(kg K)."""
    return CP_AT_ZERO + CP_SLOPE * kelvin


def heat_ratio(kelvin: float) -> float:
    """Ratio of specific heats of the working gas."""
    cp = CP_AT_ZERO + CP_SLOPE * kelvin
    return cp / (cp - R_GAS)


def enthalpy(kelvin: float) -> float:
    """Enthalpy of the working gas above 0 K, J/kg: the integral of heat_capacity."""
    return (CP_AT_ZERO + 0.5 * CP_SLOPE * kelvin) * kelvin


def temperature(joule_per_kg: float) -> float:
    """Temperature (K) at which the working gas has this enthalpy (J/kg)."""
    root = math.sqrt(CP_AT_ZERO * CP_AT_ZERO + 2.0 * CP_SLOPE * joule_per_kg)
    return (root - CP_AT_ZERO) / CP_SLOPE


def compressor_rise(inlet_k: float, ratio: float, efficiency: float, gamma: float) -> float:
    """Temperature rise (K) of a compressor: T1 / eta (r^((g-1)/g) - 1)."""
    return inlet_k / efficiency * (math.pow(ratio, (gamma - 1.0) / gamma) - 1.0)


def turbine_drop(inlet_k: float, ratio: float, efficiency: float, gamma: float) -> float:
    """Temperature drop (K) of a turbine: eta T4 (1 - r^-((g-1)/g))."""
    return efficiency * inlet_k * (1.0 - math.pow(ratio, (1.0 - gamma) / gamma))


def turbine_flow_squared(outlet_pa: float, ratio: float) -> float:
    """W^2 T4 of a turbine by the law of the ellipse, for unit swallowing capacity.

    W sqrt(T4) = C p_in sqrt(1 - 1/r^2), squared, with p_in = r p_out.  Pa^2.
    """
    return outlet_pa * outlet_pa * (ratio * ratio - 1.0)
