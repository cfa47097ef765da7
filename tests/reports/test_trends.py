"""`callout trends`: what changed is told once, by a method that others' figures agree with."""

from __future__ import annotations

import math
import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from ambiance import Atmosphere
from click.testing import CliRunner, Result
from report_rig import EXAMPLE, fact, heard, stamp, write
from scipy import integrate, stats

from callout.checklist.load import load
from callout.cli.main import main
from callout.engine.events import Clock
from callout.logbook.stamp import RECORDING, Stamp
from callout.logbook.store import Logbook
from callout.reports.change import OF_FIVE, Change, changes, score, unusual
from callout.reports.day import STANDARD, standard_day
from callout.reports.trends import changed, trends

STEADY = [38.0, 39.0, 38.5, 39.5, 38.2, 38.8, 39.2, 38.6, 39.1, 38.9, 38.4, 39.3]
"""Seconds of an invented run-down."""


def cli(*words: str) -> Result:
    return CliRunner().invoke(main, ["trends", *words])


def session(down: float, lit: float = 4.0, hot: float = 640.0):
    """A start and a run-down."""
    watched = {
        "outcome": "complete",
        "at light-off": f"{lit}",
        "at idle": f"{lit + 20}",
        "highest exhaust-temperature": f"{hot}",
        "lowest battery-voltage": "17.5",
    }
    return [
        (10.0, Clock(), [fact("start watched", "start", **watched)]),
        (500.0, Clock(), [fact("cool-down started"), fact("cool-down complete", seconds="120.0")]),
        (600.0, Clock(), [fact("run-down", "shutdown/fuel-lever", by="gauge", seconds=f"{down}")]),
    ]  # fmt: skip


def logbook(folder: Path, downs) -> Path:
    path = folder / "log.db"
    for day, down in enumerate(downs, start=1):
        write(path, session(down), day=day)
    return path


def found(path: Path):
    with Logbook.read(path) as opened:
        return trends(opened, "Reedlark", load(EXAMPLE))


def test_the_modified_z_score_is_that_of_iglewicz_and_hoaglin():
    # For normal values the median absolute deviation is 0.6745 of a standard deviation
    # (the 75 % quantile), so the score of one is its number of standard deviations.
    quartile = stats.norm.ppf(0.75)

    assert math.isclose(2.0, score(2.0, quartile), rel_tol=1e-4)
    values = np.array([2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2])
    usual = stats.median_abs_deviation(values[:-1], scale=0.6745)
    assert unusual([*values[:-1], *values]) == pytest.approx(
        (8.2 - np.median([*values[:-1], *values[:-1]])) / usual
    )


def test_a_median_of_five_scatters_as_its_distribution_says():
    def density(x: float) -> float:  # of the third of five, by its order statistic
        below = stats.norm.cdf(x)
        return 30 * below**2 * (1 - below) ** 2 * stats.norm.pdf(x)

    variance, _ = integrate.quad(lambda x: x * x * density(x), -8, 8)

    assert OF_FIVE == pytest.approx(math.sqrt(variance), abs=1e-3)


def test_a_shorter_run_down_is_found_once_and_over_when_it_is_usual_again():
    values = [*STEADY, *[31.0] * 8, *[38.7] * 8]

    one = changes(values, 0.1)

    assert [Change(found=14, over=22, usual=pytest.approx(38.85), now=31.0)] == one
    assert pytest.approx(-20.2, abs=0.1) == one[0].percent


def test_what_is_found_in_one_session_does_not_depend_on_later_ones():
    values = [*STEADY, *[31.0] * 8, *[38.7] * 8, *np.linspace(38, 52, 40)]
    whole = {one.found for one in changes(values, 0.1)}

    steps = {one.found for n in range(len(values) + 1) for one in changes(values[:n], 0.1)}

    assert whole == steps
    assert 2 == len(whole)


def test_two_odd_values_are_no_change_and_noise_hardly_ever_is():
    assert [] == changes([*STEADY, 20.0, 60.0, *STEADY], 0.1)
    noise = np.random.default_rng(1).normal(40.0, 4.0, 5000)  # a standard deviation of a tenth
    assert len(changes(noise, 0.1)) <= 5


def test_temperatures_of_another_day_are_those_of_the_standard_one():
    # The standard day is that of the reference atmosphere at sea level.
    assert pytest.approx(float(Atmosphere(0).temperature[0])) == STANDARD
    assert 700.0 == standard_day(700.0, 15.0)
    # The same temperature ratio T / T_air, in kelvin, before and after.
    hot = standard_day(700.0, 35.0)
    assert (700.0 + 273.15) / 308.15 == pytest.approx((hot + 273.15) / 288.15)
    assert hot < 700.0


def test_the_change_is_told_as_new_once_and_then_as_known(tmp_path):
    downs = [*STEADY, 31.0, 31.0]
    told = []
    path = logbook(tmp_path, downs)
    for day in range(len(downs) + 1, len(downs) + 4):
        write(path, session(31.0), day=day)
        told.append(changed(found(path)))

    sentence = (
        "Run-down by gauge is 20 percent shorter than usual: 31.0\u00a0s, usually 38.8\u00a0s"
    )
    assert [
        ([sentence], []),
        ([], [f"{sentence}, since session 15"]),
        ([], [f"{sentence}, since session 15"]),
    ] == told


def test_the_command_tells_figures_counts_and_whose_word_counts(tmp_path):
    path = logbook(tmp_path, [*STEADY, 31.0, 31.0, 31.0])
    start = [(9.0, Clock(), [fact("start watched", "start", outcome="hot-start", seconds="9",
                                  **{"highest exhaust-temperature": "830"})]),
             (10.0, Clock(), [fact("not understood", "walk-round/cowling", why="x", guess="y")]),
             (11.0, Clock(), [fact("quick answer", "walk-round/fuel-sample", latency="0.4")]),
             (12.0, Clock(), [fact("skipped", "walk-round/static-port")])]  # fmt: skip
    write(path, start, day=20)
    done = cli("--logbook", str(path))

    assert 0 == done.exit_code, done.output
    for one in (
        "Still: Run-down by gauge is 20 percent shorter than usual",
        "Starts watched: 16 (15 complete, 1 hot start)",
        "Cool-down kept: 15 of 15 sessions",
        "Answered too quickly to have looked: walk round: fuel sample, 1",
        "Most often missed: walk round: static port, 1",
        "Most often misheard: walk round: cowling, 1",
        "none is corrected to a standard day",
        "The aircraft's own handbook rules",
    ):
        assert one in " ".join(done.stdout.split("\n")).replace("\u00a0", " ")
    row = next(line for line in done.stdout.splitlines() if line.startswith("highest exhaust"))
    assert ["15", "640.0", "\u00b0C", "0.00", "640.0", "\u00b0C"] == row.split()[-6:]


def test_peaks_are_corrected_where_the_air_was_read(tmp_path):
    text = EXAMPLE.read_text(encoding="utf-8").replace(
        "gauges:\n  battery-voltage:",
        'gauges:\n  air-temperature: {unit: degC, range: "-50 to 60"}\n  battery-voltage:', 1,
    ).replace(
        "          - call: static port\n            answer: open\n",
        "          - {call: outside air, read: air-temperature}\n", 1,
    )  # fmt: skip
    file = tmp_path / "with-air.yaml"
    file.write_text(text, encoding="utf-8")
    path = tmp_path / "log.db"
    for day, air in ((1, 15), (2, 35)):
        steps = [*heard("walk-round/outside-air", 1.0, 3.0, answer=str(air)), *session(38.0)]
        write(path, steps, day=day, file=file)

    with Logbook.read(path) as opened:
        series = {one.name: one for one in trends(opened, "Reedlark", load(file)).series}

    corrected = series["highest exhaust temperature, standard day"]
    assert [640.0, pytest.approx(standard_day(640.0, 35.0), abs=0.06)] == corrected.values


def test_recordings_are_nobodys_past(tmp_path):
    path = logbook(tmp_path, [38.0])
    with Logbook.open(path) as opened:
        began = stamp(0.0)
        replay = Stamp(0.0, began.wall, 0.0, RECORDING)
        number = opened.begin("Reedlark", "4", str(EXAMPLE), "", replay)
        for _, event, facts in session(12.0):
            opened.append(number, event, facts, replay)

    assert {38.0} == {v for one in found(path).series if "run-down" in one.name for v in one.values}


def test_an_aircraft_that_never_flew_is_said_with_those_that_did(tmp_path):
    path = logbook(tmp_path, [38.0])

    done = cli("Nightjar", "--logbook", str(path))

    assert 2 == done.exit_code
    assert f"No session of 'Nightjar' is in {path}; there are: Reedlark." in done.stderr


def test_a_logbook_of_an_older_callout_is_compared_before_the_next_session(tmp_path):
    """The index that makes it fast comes with the next session; nothing else waits for it."""
    path = logbook(tmp_path, [38.0, 39.0])
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(
            "DROP INDEX trending_figures; DROP INDEX trending_tallies; DROP INDEX counted_whole;"
            "DROP TABLE clips; DROP TABLE acts; DROP TABLE origins;"
            "DELETE FROM migrations WHERE step >= "
            "(SELECT step FROM migrations WHERE name = 'trending facts')"
        )
        connection.commit()

    done = cli("--logbook", str(path))

    assert 0 == done.exit_code, done.output
    assert "Starts watched: 2 (2 complete)" in done.stdout
