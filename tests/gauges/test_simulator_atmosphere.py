"""The air of the day against the standard atmosphere's tables."""

import pytest

from callout.gauges.simulator.atmosphere import Air, standard_air

# ISO 2533 / ICAO standard atmosphere by geopotential height: m, K, Pa, kg/m3.
# Computed from the standard's constants; agrees with the published ISA tables at
# engineeringtoolbox d_985 and av8n.com/physics/altimetry.htm. The pressure at -500 m
# is quoted to 10 Pa only.
TABLE = [
    (-500.0, 291.40, 107_480, 1.2849),
    (0.0, 288.15, 101_325, 1.2250),
    (1000.0, 281.65, 89_875, 1.1116),
    (2000.0, 275.15, 79_495, 1.0065),
    (3000.0, 268.65, 70_109, 0.90912),
    (5000 * 0.3048, 278.24, 84_307, 1.0555),
    (10_000 * 0.3048, 268.34, 69_682, 0.90464),
]


@pytest.mark.parametrize(("height", "kelvin", "pascal", "density"), TABLE)
def test_standard_air_is_that_of_the_table(height, kelvin, pascal, density):
    air = standard_air(height)

    assert pytest.approx(kelvin, abs=0.006) == air.kelvin
    assert pytest.approx(pascal, abs=1.0 if height >= 0.0 else 5.0) == air.pascal
    assert pytest.approx(density, rel=5e-5) == air.density


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
