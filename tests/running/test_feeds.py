"""Feeds in a session: along a recording, killed and taken up; what the command refuses."""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from feed_rig import Killed, aircraft, plane, run

from callout.cli.main import main
from callout.engine.events import Reading
from callout.gauges.feed.problems import FeedProblem
from callout.gauges.feed.simulated import lines
from callout.gauges.simulator import Faults, Machine, Plan, Sensor, SensorFault
from callout.gauges.simulator.readings import EXHAUST
from callout.logbook.store import Logbook
from callout.running.feeding import RecordedFeed


@pytest.fixture(scope="module")
def feed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A start of 30 s with an exhaust temperature that sticks for a while."""
    file = tmp_path_factory.mktemp("feed") / "feed.csv"
    stuck = SensorFault(EXHAUST, Sensor.STUCK, 0.0, 14.0, 18.0)
    machine = Machine(faults=Faults(sensors=(stuck,)))
    file.write_text("\n".join(lines(machine, Plan(), 30.0, seed=2)), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def whole(feed: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[list, list]:
    """Events and facts of an undisturbed run."""
    folder = tmp_path_factory.mktemp("whole")
    run(plane(folder), feed, folder / "log.db")
    return kept(folder / "log.db")


def kept(logbook: Path) -> tuple[list, list]:
    with Logbook.read(logbook) as book:
        return book.events(1), book.facts(1)


def facts(found: tuple[list, list], name: str) -> list[tuple[float, str]]:
    return [(at, fact.about) for at, fact in found[1] if fact.fact == name]


def test_readings_along_a_recording_tick_what_waits_for_them_and_call_limits(whole):
    ticked = [about for _, about in facts(whole, "ticked")]

    assert ["start/gas-generator-speed", "start/fuel-lever"] == ticked[:2]
    assert 1 == len(facts(whole, "caution"))
    assert 1 <= len(facts(whole, "limit passed"))
    assert 1 == len(facts(whole, "sensor fault"))


def test_few_readings_stand_among_the_entries_and_all_are_kept(whole, feed: Path, tmp_path: Path):
    """Twenty-five and ten a second of two gauges, most of them many to a row."""
    run(plane(tmp_path), feed, tmp_path / "log.db")
    with Logbook.read(tmp_path / "log.db") as book:
        entries = [e for e in book.entries(1, "event") if e.name == "Reading"]
    readings = [event for _, event in whole[0] if isinstance(event, Reading)]

    assert len(entries) < 20
    assert len(readings) > 850


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("settled", [1.0, 30.0])
def test_killed_at_any_moment_and_taken_up_the_log_is_the_same(
    whole, feed: Path, tmp_path: Path, seed: int, settled: float
):
    """What was not on the disk yet comes out again; what was is compared, not written twice."""
    chance = random.Random(seed)
    rig = plane(tmp_path)
    for until in sorted(chance.uniform(0.0, 26.0) for _ in range(5)):
        with pytest.raises(Killed):
            run(rig, feed, tmp_path / "log.db", until=until, settled=settled)
    run(rig, feed, tmp_path / "log.db", settled=settled)

    assert whole == kept(tmp_path / "log.db")


def test_a_feed_without_times_cannot_lie_beside_a_recording(tmp_path: Path):
    file = tmp_path / "feed.csv"
    file.write_text("gas-generator-speed\n1\n", encoding="utf-8")

    with pytest.raises(FeedProblem, match='tells no "time" beside a recording'):
        RecordedFeed(file, plane(tmp_path).gauges)


def test_times_of_another_day_count_from_the_first_line(tmp_path: Path):
    file = tmp_path / "feed.csv"
    file.write_text("time,gas-generator-speed\n1700000000,1\n1700000002.5,1\n", encoding="utf-8")
    feed = RecordedFeed(file, plane(tmp_path).gauges)
    feed.take()  # the head says nothing: this is the first row

    assert 2.5 == feed.next_at()


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--feed", "udp:x"], "'udp:x' has no number"),
        (["--feed", "udp:5000", "--clock", "recording"], "--clock recording needs a recorded feed"),
        (["--feed", "-", "--ear", "keys"], "--feed - takes the standard input"),
    ],
)
def test_a_feed_that_cannot_be_is_said_in_a_sentence(tmp_path: Path, words, why):
    sound = tmp_path / "silence.wav"
    import numpy as np
    import soundfile

    soundfile.write(sound, np.zeros(16000), 16000)
    done = CliRunner().invoke(
        main,
        ["run", str(aircraft(tmp_path)), "--listen", str(sound), "--speak", "none",
         "--logbook", str(tmp_path / "log.db"), *words],
    )  # fmt: skip

    assert 2 == done.exit_code
    assert why in done.stderr


def test_the_program_takes_a_feed_from_another_program(tmp_path: Path):
    """`callout feed simulate` into `callout run --feed -`, the words from a silent recording."""
    import numpy as np
    import soundfile

    sound = tmp_path / "silence.wav"
    soundfile.write(sound, np.zeros(16000 * 3), 16000)
    file = tmp_path / "feed.csv"
    file.write_text("\n".join(lines(Machine(), Plan(starter_at=0.2), 3.0)), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "callout", "run", str(aircraft(tmp_path)), "--clock", "recording",
         "--ear", "keys", "--listen", str(sound), "--speak", "none", "--feed", str(file),
         "--logbook", str(tmp_path / "log.db")],
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    events, _ = kept(tmp_path / "log.db")

    assert (0, "") == (done.returncode, done.stderr)
    assert len([event for _, event in events if isinstance(event, Reading)]) > 80
