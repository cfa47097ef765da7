"""The air of the day against two independent libraries, on the height that each takes."""

import pytest
from ambiance import Atmosphere
from fluids.atmosphere import ATMOSPHERE_1976

from callout.gauges.simulator.atmosphere import standard_air

HEIGHTS = [-500.04, -400.0, 0.0, 500.0, 1000.0, 2000.0, 3000.0, 5000.0, 9000.0]


EARTH_RADIUS = 6_356_766.0
"""Nominal, m (ISO 2533)."""


def geopotential(geometric: float) -> float:
    """Geopotential height (m) of a geometric height (m): R z / (R + z), ISO 2533."""
    return EARTH_RADIUS * geometric / (EARTH_RADIUS + geometric)


@pytest.mark.parametrize("height", HEIGHTS)
def test_ambiance_agrees_at_the_same_geometric_height(height):
    """The library `ambiance` (ICAO standard atmosphere 1993) takes geometric height."""
    theirs, ours = Atmosphere(height), standard_air(geopotential(height))

    assert pytest.approx(theirs.pressure[0], rel=1e-5) == ours.pascal
    assert pytest.approx(theirs.temperature[0], abs=1e-3) == ours.kelvin
    assert pytest.approx(theirs.density[0], rel=1e-5) == ours.density


@pytest.mark.parametrize("height", HEIGHTS)
def test_fluids_agrees_at_the_same_geometric_height(height):
    """The library `fluids` (US Standard Atmosphere 1976) takes geometric height."""
    theirs, ours = ATMOSPHERE_1976(height), standard_air(geopotential(height))

    assert pytest.approx(theirs.P, rel=1e-5) == ours.pascal
    assert pytest.approx(theirs.T, abs=1e-3) == ours.kelvin
    assert pytest.approx(theirs.rho, rel=1e-5) == ours.density


def test_the_two_heights_are_told_apart():
    """At 1000 m the libraries' geometric height gives 89 876.3 Pa, the ISO table 89 875."""
    assert pytest.approx(89_876.3, abs=0.1) == Atmosphere(1000.0).pressure[0]
    assert pytest.approx(89_874.6, abs=0.1) == standard_air(1000.0).pascal
