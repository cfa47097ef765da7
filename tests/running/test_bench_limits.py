"""The bench of limits: what it counts, on curves whose outcome is known beforehand."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from callout.benches import limits_noise as noise
from callout.benches.limits import (
    Start,
    look_of,
    looking,
    never_above,
    over_starts,
    simulated,
)
from callout.checklist.load import load
from callout.cli.bench_limits import limits

EXAMPLE = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"
HEAT = load(EXAMPLE).gauge("exhaust-temperature")

LIGHT_OFF = Start("good", 20.0 + 650.0 * (1.0 - np.exp(-np.arange(300) / 12.0)))
"""To 670 with a time constant of 1.2 s, at 10 Hz."""

RAMP = Start("hot", np.concatenate([np.full(20, 100.0), 100.0 + 20.0 * np.arange(60)]))
"""100 for 2 s, then 200 a second: past 800 at 5.6 s (the sample after 800 itself)."""

CREEPING = Start("hot", 700.0 + 0.5 * np.arange(300))
"""5 a second: past 740 at 8.1 s and past 800 at 20.1 s; nothing about that is fast."""


def test_a_good_a_hot_and_a_creeping_start_are_counted_as_such():
    row = over_starts(HEAT, [LIGHT_OFF, RAMP, CREEPING], 10.0, 0.0, 1)

    assert (1, 2, 0, 1, 0) == (row.good, row.hot, row.false, row.missed, row.silent)
    # 200 a second and 0.5 s ahead, less the jitter of 10.4 (0.05 s): from 710 on, at 5.1 s.
    # Between the leads of both, 0 and 0.5, the 95th percentile lies at 0.95 of the way.
    assert pytest.approx(0.95 * 0.5) == row.leads[2]
    # The creeping one is called at 8.1 s, as a caution for time above 740: 12 s before.
    assert pytest.approx(0.5 + 0.95 * 11.5) == row.first[2]
    assert (0, 0) == row.rates
    assert pytest.approx(650.0 * (1.0 - math.exp(-10 / 12))) == row.fastest[2]


def test_another_look_ahead_is_another_lead():
    early = looking(HEAT, 1.0)
    row = over_starts(early, [RAMP], 10.0, 0.0, 1)

    assert (0.5, 1.0) == (look_of(HEAT), row.look)
    assert pytest.approx(1.0) == row.leads[1]


def test_the_share_of_false_calls_has_wilsons_interval():
    """None of ten: 0 to z^2 / (10 + z^2) = 3.8415 / 13.8415 (Wilson 1927)."""
    row = over_starts(HEAT, [LIGHT_OFF] * 10, 10.0, 0.0, 1)

    assert pytest.approx((0.0, 3.8415 / 13.8415), abs=1e-5) == (row.low, row.high)


def test_the_example_is_never_above_800_in_a_start():
    assert 800.0 == never_above(HEAT, "start")
    assert math.inf == never_above(HEAT, "no such state")


def test_in_noise_nothing_passes_the_limit_so_that_every_call_is_for_nothing():
    rows = {row.kind: row for row in noise.over_noise(HEAT, 10.0, 1.5, 0.02, 3)}
    chance = np.random.default_rng(3)
    curves = dict(noise._noises(chance, 20_000, 10.0, 1.5, 800.0))

    assert rows.keys() == curves.keys()
    assert all(720 == row.samples for row in rows.values())
    assert all(curve.max() < 800.0 for curve in curves.values())
    assert curves["wild samples"].max() > 700.0
    assert {0, 1} == set(np.unique(np.round((curves["loose contact"] - 600.0) / 150.0)))


def test_simulated_starts_are_the_same_for_the_same_seed():
    one, other = (next(iter(simulated(1, 5, 10.0))) for _ in range(2))

    assert one.kind == other.kind
    assert np.array_equal(one.heat, other.heat)


def test_the_command_prints_a_row_for_each_measurement():
    asked = ["--aircraft", str(EXAMPLE), "--starts", "2", "--hours", "0.001", "--samples", "200"]
    result = CliRunner().invoke(limits, [*asked, "--json"])
    rows = [json.loads(line) for line in result.output.splitlines()]

    assert ["starts", *["noise"] * 4, "cost"] == [row["what"] for row in rows]
    assert 2 == rows[0]["good"] + rows[0]["hot"]
    assert 200 == rows[-1]["samples"]
    told = CliRunner().invoke(limits, asked).output
    assert "rising fast said in" in told
    assert "us a sample" in told


def test_a_gauge_that_is_not_there_is_a_sentence():
    result = CliRunner().invoke(limits, ["--aircraft", str(EXAMPLE), "--gauge", "nose"])

    assert 2 == result.exit_code
    assert "This aircraft has no gauge 'nose'." in result.output
