"""The units a gauge can have: symbol as written -> the words that are spoken.

Rule of this file: closed tables of data. A symbol that is not here is an error
in the file, never a new unit. The first spoken form is the one callout says;
all of them may follow a spoken number.
"""

from __future__ import annotations

UNITS: dict[str, tuple[str, ...]] = {
    "%": ("percent", "per cent"),
    "degC": ("degrees", "degrees celsius", "celsius"),
    "°C": ("degrees", "degrees celsius", "celsius"),
    "degF": ("degrees", "degrees fahrenheit", "fahrenheit"),
    "°F": ("degrees", "degrees fahrenheit", "fahrenheit"),
    "deg": ("degrees", "degree"),
    "V": ("volts", "volt"),
    "A": ("amps", "amp", "amperes", "ampere"),
    "Ah": ("amp hours", "amp hour", "ampere hours"),
    "W": ("watts", "watt"),
    "kW": ("kilowatts", "kilowatt"),
    "hp": ("horsepower",),
    "Hz": ("hertz",),
    "rpm": ("r p m", "revolutions", "revolutions per minute"),
    "bar": ("bar", "bars"),
    "mbar": ("millibars", "millibar"),
    "Pa": ("pascals", "pascal"),
    "hPa": ("hectopascals", "hectopascal"),
    "kPa": ("kilopascals", "kilopascal"),
    "psi": ("p s i", "pounds", "pounds per square inch"),
    "inHg": ("inches", "inches of mercury", "inch"),
    "kg": ("kilograms", "kilogram", "kilos", "kilo"),
    "g": ("grams", "gram"),
    "lb": ("pounds", "pound"),
    "l": ("liters", "liter"),
    "gal": ("gallons", "gallon"),
    "qt": ("quarts", "quart"),
    "kg/h": ("kilograms per hour", "kilos per hour"),
    "l/h": ("liters per hour",),
    "lb/h": ("pounds per hour",),
    "gal/h": ("gallons per hour",),
    "Nm": ("newton meters", "newton meter"),
    "m": ("meters", "meter"),
    "mm": ("millimeters", "millimeter"),
    "ft": ("feet", "foot"),
    "in": ("inches", "inch"),
    "kt": ("knots", "knot"),
    "ft/min": ("feet per minute",),
    "s": ("seconds", "second"),
    "min": ("minutes", "minute"),
    "h": ("hours", "hour"),
    "1": (),
}
"""Symbol -> spoken forms.  "1" is a bare number, such as a count."""

SAME_KIND: tuple[tuple[str, ...], ...] = (
    ("%", "1"),
    ("degC", "°C", "degF", "°F", "K"),
    ("deg",),
    ("V", "mV"),
    ("A", "mA"),
    ("Ah",),
    ("W", "kW", "hp"),
    ("Hz", "rpm"),
    ("bar", "mbar", "Pa", "hPa", "kPa", "psi", "inHg"),
    ("kg", "g", "lb"),
    ("l", "gal", "qt"),
    ("kg/h", "lb/h"),
    ("l/h", "gal/h"),
    ("Nm",),
    ("m", "mm", "ft", "in"),
    ("kt", "ft/min"),
    ("s", "min", "h"),
)
"""Units that measure the same and can be converted into one another.

A feed may also come in K, mV and mA, in which no gauge is read aloud.
"""

FEED_UNITS: tuple[str, ...] = tuple(symbol for kind in SAME_KIND for symbol in kind)
"""Every unit that a feed can come in."""


def same_kind(symbol: str) -> tuple[str, ...]:
    """The units that this one can be converted into, itself among them."""
    return next(kind for kind in SAME_KIND if symbol in kind)
