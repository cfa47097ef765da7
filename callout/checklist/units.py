"""The units a gauge can have: symbol as written -> the words that are spoken.

Rule of this file: a closed table of data. A symbol that is not here is an error
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
