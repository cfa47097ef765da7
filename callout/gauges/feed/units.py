"""Conversion between units, by pint: asked once a pair, kept as two numbers.

Rule of this file: pint is imported when the first two different units meet, and
never for a feed that comes in the gauges' own units (its import costs a third
of a second). Every conversion between units of one kind is value * factor + shift.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple

PINT = {
    "%": "percent",
    "°C": "degree_Celsius",
    "degC": "degree_Celsius",
    "°F": "degree_Fahrenheit",
    "degF": "degree_Fahrenheit",
    "K": "kelvin",
    "deg": "degree",
    "hp": "horsepower",
    "Ah": "ampere_hour",
    "inHg": "inch_Hg",
    "gal": "gallon",
    "qt": "quart",
    "kt": "knot",
    "Nm": "newton * meter",
    "l/h": "liter / hour",
    "gal/h": "gallon / hour",
    "lb/h": "pound / hour",
    "rpm": "1 / minute",
    "1": "dimensionless",
}
"""Our symbol -> pint's name, where they differ.

A turn is an angle of 2 pi there, so that its "rpm" and hertz differ by that; here both count.
"""


class Linear(NamedTuple):
    """value * factor + shift."""

    factor: float
    shift: float

    def of(self, value: float) -> float:
        """The value in the other unit."""
        return value * self.factor + self.shift


SAME = Linear(1.0, 0.0)


@lru_cache(maxsize=256)
def conversion(given: str, wanted: str) -> Linear:
    """How a value in `given` becomes one in `wanted`; both of one kind (units.SAME_KIND)."""
    if given == wanted:
        return SAME
    registry = _registry()
    here, there = registry.Unit(PINT.get(given, given)), registry.Unit(PINT.get(wanted, wanted))
    zero, hundred = (float(registry.Quantity(v, here).to(there).magnitude) for v in (0.0, 100.0))
    return Linear((hundred - zero) / 100.0, zero)


@lru_cache(maxsize=1)
def _registry() -> Any:  # noqa: ANN401  pint makes its classes at run time
    import pint

    return pint.UnitRegistry(cache_folder=None)
