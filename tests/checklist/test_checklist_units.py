"""The closed table of units, held against a library of units and a pronouncing dictionary."""

from __future__ import annotations

import pint
import pocketsphinx
import pytest
from checklist_files import EXAMPLES  # noqa: F401 - the folder of this room is on the path

from callout.checklist.fields import spoken
from callout.checklist.units import UNITS

REGISTRY = pint.UnitRegistry(cache_folder=None)

# What pint (its own registry, after the SI brochure and NIST SP 811) calls what we
# write otherwise: "lb" is a pound of mass there, "gal" and "qt" are of the US.
PINT = {
    "%": "percent",
    "°C": "degree_Celsius",
    "degC": "degree_Celsius",
    "°F": "degree_Fahrenheit",
    "degF": "degree_Fahrenheit",
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
    "rpm": "revolutions_per_minute",
    "1": "dimensionless",
}

# One spoken name of each symbol, singular, as pint spells it.
NAMES = {
    "V": "volt",
    "A": "ampere",
    "W": "watt",
    "kW": "kilowatt",
    "Hz": "hertz",
    "bar": "bar",
    "mbar": "millibar",
    "Pa": "pascal",
    "hPa": "hectopascal",
    "kPa": "kilopascal",
    "kg": "kilogram",
    "g": "gram",
    "lb": "pound",
    "l": "liter",
    "gal": "gallon",
    "qt": "quart",
    "m": "meter",
    "mm": "millimeter",
    "ft": "foot",
    "in": "inch",
    "kt": "knot",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "%": "percent",
}


@pytest.mark.parametrize("symbol", UNITS)
def test_every_symbol_is_a_unit_outside_this_project_too(symbol):
    assert REGISTRY.Unit(PINT.get(symbol, symbol)) is not None


@pytest.mark.parametrize(("symbol", "name"), NAMES.items())
def test_the_spoken_name_is_the_name_of_that_symbol(symbol, name):
    """A "bar" that said "pascals" would be read back wrong by a factor of 100,000."""
    assert REGISTRY.Unit(PINT.get(symbol, symbol)) == REGISTRY.Unit(name)
    assert name in UNITS[symbol]


def test_degrees_do_not_mix_scales():
    assert set(UNITS["degC"]) & set(UNITS["degF"]) == {"degrees"}
    assert UNITS["°C"] == UNITS["degC"]
    assert UNITS["°F"] == UNITS["degF"]


def test_a_symbol_that_does_not_exist_is_none_of_ours():
    """Control: pint refuses what is no unit, so the first test can fail."""
    with pytest.raises(pint.UndefinedUnitError):
        REGISTRY.Unit("volz")


@pytest.mark.parametrize("words", sorted({form for forms in UNITS.values() for form in forms}))
def test_every_spoken_form_is_a_phrase(words):
    assert spoken(words) == words


def test_spoken_forms_are_words_of_the_pronouncing_dictionary_where_it_has_them():
    """The CMU dictionary that comes with PocketSphinx knows all but these few plurals."""
    path = pocketsphinx.get_model_path("en-us/cmudict-en-us.dict")
    with open(path, encoding="utf-8") as lines:
        known = {line.split(" ", 1)[0] for line in lines}
    words = {word for forms in UNITS.values() for form in forms for word in form.split()}

    assert words - known == {
        "amps",
        "hectopascal",
        "hectopascals",
        "kilopascal",
        "kilopascals",
        "millibars",
        "pascals",
    }
