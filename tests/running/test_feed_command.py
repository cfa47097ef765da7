"""`callout feed` and `callout bench feed`: the real programs, files and sockets."""

from __future__ import annotations

import json
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from feed_rig import aircraft

from callout.cli.main import main
from callout.cli.simulated import FAULTS, start
from callout.gauges.feed.recording import rows
from callout.gauges.simulator import run

PROGRAM = (sys.executable, "-m", "callout", "feed")


def feed(*words: str) -> Result:
    return CliRunner().invoke(main, ["feed", *words])


@pytest.fixture
def short(tmp_path: Path) -> Path:
    """Two seconds of a machine that starts, ten lines a second."""
    file = tmp_path / "short.csv"
    done = feed("simulate", "--seconds", "2", "--rate", "10")
    file.write_text(done.stdout, encoding="utf-8")
    return file


def test_a_simulated_feed_is_the_same_for_the_same_seed_and_another_for_another():
    words = ("simulate", "--seconds", "1", "--rate", "20")
    one, same, other = feed(*words), feed(*words), feed(*words, "--seed", "1")

    assert one.stdout == same.stdout != other.stdout
    assert 22 == len(one.stdout.splitlines())
    assert one.stdout.startswith("time [s],gas-generator-speed [%],exhaust-temperature [degC],")


def test_a_recording_has_every_row_and_says_what_was_not_understood(short: Path, tmp_path: Path):
    broken, file = tmp_path / "broken.csv", tmp_path / "kept.csv"
    broken.write_text(short.read_text("utf-8") + "garbage\n1,2\n", encoding="utf-8")
    done = feed("record", "--from", str(broken), str(file))

    assert 0 == done.exit_code
    assert f"21 lines in {file}." in done.stderr
    assert "2 lines were not understood, the first of them: line 23: it has 1 columns" in (
        done.stderr
    )
    assert [r.row for r in rows(short) if r.row] == [r.row for r in rows(file) if r.row]


def test_a_file_that_is_there_is_never_written_over(short: Path):
    before = short.read_bytes()
    done = feed("record", "--from", str(short), str(short))

    assert 2 == done.exit_code
    assert "is there already and is left as it is" in done.stderr
    assert before == short.read_bytes()


def test_a_replay_comes_at_its_own_pace_or_faster(short: Path):
    began = time.monotonic()
    done = feed("replay", str(short), "--speed", "4")
    took = time.monotonic() - began

    assert 22 == len(done.stdout.splitlines())
    assert took >= 0.5  # two seconds at four times their pace
    assert feed("replay", str(short), "--speed", "all").stdout == done.stdout


@pytest.mark.parametrize("speed", ["0", "-1", "inf", "nan", "fast"])
def test_a_speed_that_is_none_is_refused(short: Path, speed: str):
    done = feed("replay", str(short), "--speed", speed)

    assert 2 == done.exit_code
    assert "is no speed: give a number above 0, or all" in done.stderr


def test_a_replay_by_tcp_is_recorded_by_another_program(short: Path, tmp_path: Path):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    file = tmp_path / "kept.csv"
    words = ["replay", str(short), "--to", f"tcp:{port}", "--speed", "all"]
    with subprocess.Popen([*PROGRAM, *words], stderr=subprocess.PIPE, text=True) as sender:
        assert sender.stderr is not None
        assert "Waiting for a connection" in sender.stderr.readline()
        done = feed("record", "--from", f"tcp:127.0.0.1:{port}", str(file))
        said = sender.stderr.read()

    assert 0 == done.exit_code
    assert "21 lines sent." in said
    assert [r.row for r in rows(short) if r.row] == [r.row for r in rows(file) if r.row]


def test_a_reader_that_leaves_is_no_error():
    with subprocess.Popen(
        [*PROGRAM, "simulate", "--seconds", "600"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as child:
        assert child.stdout is not None
        assert child.stderr is not None
        child.stdout.readline()
        child.stdout.close()
        said = child.stderr.read()

    assert b"" == said


def test_show_ends_with_the_latest_values_and_what_is_wrong(short: Path, tmp_path: Path):
    text = short.read_text("utf-8").replace("exhaust-temperature [degC]", "exhaust-temperature")
    lines = text.splitlines()
    bad = [",".join([*row.split(",")[:2], "nan", *row.split(",")[3:]]) for row in lines[8:]]
    file = tmp_path / "bad.csv"
    file.write_text("\n".join([*lines[:8], *bad]), encoding="utf-8")
    done = feed("show", "--from", str(file), str(aircraft(tmp_path)))

    assert 0 == done.exit_code
    assert "gas generator speed" in done.stdout
    assert "! exhaust temperature gives nan" in done.stdout
    assert "22 lines, 0 not understood" in done.stdout


def test_show_without_an_aircraft_shows_every_column(short: Path):
    done = feed("show", "--from", str(short))

    assert "oil-pressure [bar]" in done.stdout
    assert "battery-voltage [V]" in done.stdout


@pytest.mark.parametrize("name", sorted(FAULTS))
def test_each_simulated_fault_runs(name: str):
    machine, plan = start(name, shutdown=None, celsius=15.0)

    assert 101 == len(run(machine, plan, 1.0).samples)


def test_the_bench_prints_figures_of_one_run(short: Path):
    done = CliRunner().invoke(
        main, ["bench", "feed", "checklists/reedlark.yaml", "--feed", str(short), "--json"]
    )
    said = json.loads(done.stdout)

    assert 21 == said["lines"]
    assert said["readings"] > 0
    assert said["seconds"] > 0 < said["times_parsing"]
