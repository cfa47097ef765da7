"""The air of the day against the standard atmosphere's tables and published formulas."""

import pytest

from callout.gauges.simulator import atmosphere
from callout.gauges.simulator.atmosphere import Air, air_at, geometric, geopotential, standard_air

# ISO 2533 / ICAO standard atmosphere by geopotential height: m, K, Pa, kg/m3, m/s.
# Computed from the standard's constants; agrees with the published ISA tables at
# engineeringtoolbox d_985 and av8n.com/physics/altimetry.htm. The pressure at -500 m
# is quoted to 10 Pa only.
TABLE = [
    (-500.0, 291.40, 107_480, 1.2849, 342.21),
    (0.0, 288.15, 101_325, 1.2250, 340.29),
    (1000.0, 281.65, 89_875, 1.1116, 336.43),
    (2000.0, 275.15, 79_495, 1.0065, 332.53),
    (3000.0, 268.65, 70_109, 0.90912, 328.58),
    (5000 * 0.3048, 278.24, 84_307, 1.0555, 334.39),
    (10_000 * 0.3048, 268.34, 69_682, 0.90464, 328.39),
]

# Pressure altitude ft, outside air degC, exact density altitude of dry air ft, by
# the thumb rule ft (120 ft a degree; millionaire-lane.com/Density).
DENSITY_ALTITUDES = [
    (0, 15, 0, 0),
    (0, 30, 1724, 1800),
    (1000, 25, 2385, 2438),
    (2000, 30, 4161, 4275),
    (5000, 30, 7801, 7988),
    (8000, 20, 10_362, 10_501),
]


@pytest.mark.parametrize(("height", "kelvin", "pascal", "density", "sound"), TABLE)
def test_standard_air_is_that_of_the_table(height, kelvin, pascal, density, sound):
    air = standard_air(height)

    assert pytest.approx(kelvin, abs=0.006) == air.kelvin
    assert pytest.approx(pascal, abs=1.0 if height >= 0.0 else 5.0) == air.pascal
    assert pytest.approx(density, rel=5e-5) == air.density
    assert pytest.approx(sound, abs=0.006) == air.sound_speed


@pytest.mark.parametrize(("altitude", "outside", "exact", "thumb"), DENSITY_ALTITUDES)
def test_density_altitude_is_within_five_feet_of_exact(altitude, outside, exact, thumb):
    assert pytest.approx(exact, abs=5.0) == atmosphere.density_altitude(altitude, outside)
    assert pytest.approx(thumb, abs=1.0) == atmosphere.density_altitude_by_thumb(altitude, outside)


def test_moist_air_is_thinner_than_dry_by_the_weather_service_formula():
    """29.92 inHg, 30 degC: the US NWS formula as given at metpod.co.uk/calculators/density-alt."""
    dry = atmosphere.density_altitude_moist(29.92, 30.0, None)
    moist = atmosphere.density_altitude_moist(29.92, 30.0, 25.0)

    assert pytest.approx(1742.0, abs=5.0) == dry
    assert pytest.approx(2142.0, abs=5.0) == moist


@pytest.mark.parametrize("height", [-500.0, 0.0, 1000.0, 3000.0, 10_000.0])
def test_geometric_and_geopotential_height_undo_each_other(height):
    assert pytest.approx(height, abs=1e-6) == geopotential(geometric(height))


def test_geopotential_height_is_the_smaller_above_sea_level():
    """1000 m geometric is 999.84 m geopotential (R z / (R + z), ISO 2533)."""
    assert pytest.approx(999.843, abs=0.001) == geopotential(1000.0)


@pytest.mark.parametrize("feet", [-1000.0, 0.0, 4000.0, 10_000.0])
def test_pressure_altitude_undoes_the_standard_pressure(feet):
    assert pytest.approx(feet, abs=1e-6) == atmosphere.pressure_altitude(air_at(feet, 20.0).pascal)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: standard_air(11_001.0), "give -5000 to 11 000 m"),
        (lambda: standard_air(float("nan")), "outside this atmosphere"),
        (lambda: Air(15.0, 101_325.0), "is it in °C"),
        (lambda: Air(288.15, 1013.25), "give 20 000 to 120 000 Pa"),
    ],
)
def test_air_that_cannot_be_is_refused_in_a_sentence(make, words):
    with pytest.raises(ValueError, match=words):
        make()
