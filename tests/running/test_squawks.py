"""Squawks in whole sessions: recorded, kept through kills, carried to the next day, purged.

Correlation is numpy's Fourier transform's; FLAC and Opus are libsndfile's.
"""

from __future__ import annotations

import io
import json
import random
import signal
import sqlite3
import subprocess
import time
from pathlib import Path

import numpy as np
import pytest
import soundfile
from squawk_rig import (
    FOUND,
    RATE,
    aircraft,
    callout,
    clip,
    keyed,
    likeness,
    recording,
    rows,
    run,
    spoken,
)

from callout.logbook.squawks import squawk
from callout.logbook.store import Logbook

SAID = ((4.0, "squawk"), (7.0, FOUND), (14.0, "end squawk"), (18.0, "closed"))


def recorded(folder: Path, logbook: Path) -> list[str]:
    sound = folder / "said.flac"
    if not sound.exists():
        recording(folder, *SAID, seconds=24.0)
    return run(
        folder / "rig.yaml", logbook, "--ear", "built-in", "--clock", "recording", "--listen",
        str(sound),
    )  # fmt: skip


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of one undisturbed session in recording time."""
    folder = tmp_path_factory.mktemp("squawk")
    aircraft(folder)
    command = recorded(folder, folder / "log.db")
    done = subprocess.run(command, capture_output=True, text=True, timeout=240, check=False)
    assert (0, "") == (done.returncode, done.stderr)
    return folder


def test_the_clip_is_what_was_spoken_and_ends_before_end_squawk(day: Path):
    with Logbook.read(day / "log.db") as logbook:
        one = squawk(logbook, "1.1")
    kept = clip(day / "log.db", 1, "1", one.until)
    assert kept is not None

    assert ("walk-round/cap", "left side", "fuel cap") == (one.about, one.where, one.called)
    assert likeness(kept.samples, spoken(FOUND)) > 0.99
    assert likeness(kept.samples, spoken("end squawk")) < 0.5
    assert 4.0 < kept.captured_at < 5.5
    assert 13.0 < kept.ends_at < 14.5
    whole, _ = soundfile.read(day / "said.flac", dtype="float32")
    start = round(kept.captured_at * RATE)
    assert np.max(np.abs(whole[start : start + len(kept.samples)] - kept.samples)) < 1e-3


def test_nothing_that_was_said_in_it_ticked_anything(day: Path):
    ticked = rows(day / "log.db", "SELECT about FROM entries WHERE name = 'ticked'")

    assert [("walk-round/cap",)] == ticked


def test_killed_at_random_moments_the_log_and_the_clip_are_the_same(day: Path, tmp_path: Path):
    """SIGKILL, then the same command: six times, or till the program was quicker than the kill."""
    aircraft(tmp_path)
    (tmp_path / "said.flac").write_bytes((day / "said.flac").read_bytes())
    log, rng, kills = tmp_path / "log.db", random.Random(6), 0
    while kills < 6 and not ended(log):
        process = subprocess.Popen(
            recorded(tmp_path, log), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        before = size(log)
        wanted = before + rng.randint(1, 6)
        while process.poll() is None and size(log) < wanted:
            time.sleep(0.02)
        process.send_signal(signal.SIGKILL)
        process.wait(120)
        kills += not ended(log)
    if not ended(log):
        done = subprocess.run(
            recorded(tmp_path, log), capture_output=True, text=True, timeout=240, check=False
        )
        assert (0, "") == (done.returncode, done.stderr)

    assert kills
    entries = "SELECT kind, name, about, now FROM entries ORDER BY seq"
    assert rows(day / "log.db", entries) == rows(log, entries)
    clips = "SELECT name, began, seconds, sound FROM clips ORDER BY piece"
    assert rows(day / "log.db", clips) == rows(log, clips)


def size(log: Path) -> int:
    """Entries and pieces in the log so far."""
    try:
        counted = rows(log, "SELECT (SELECT count(*) FROM entries) + (SELECT count(*) FROM clips)")
    except sqlite3.Error:  # not there yet, or being made
        return 0
    return int(str(counted[0][0]))


def ended(log: Path) -> bool:
    """Whether its session has its end: the same command would begin another one."""
    try:
        return bool(rows(log, "SELECT count(*) FROM ends")[0][0])
    except sqlite3.Error:  # not there yet, or being made
        return False


def test_a_kill_in_the_middle_keeps_what_was_recorded_so_far(tmp_path: Path):
    """In real time, from a recording; the next run has no microphone and says what is kept."""
    file, log = aircraft(tmp_path), tmp_path / "log.db"
    sound = recording(tmp_path, (2.0, "squawk"), (4.5, FOUND), seconds=12.0)
    process = subprocess.Popen(
        run(file, log, "--ear", "built-in", "--listen", str(sound)),
        stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    until = time.monotonic() + 240
    while not pieces_in(log) >= 3 and time.monotonic() < until:
        time.sleep(0.05)
    process.send_signal(signal.SIGKILL)
    process.wait(120)
    if process.stdin is not None:
        process.stdin.close()
    told = keyed(file, log, "resume", "play squawk")

    kept = clip(log, 1, "1")
    assert kept is not None
    assert kept.seconds >= 3.0
    assert "Squawk broken off, " in told
    assert " seconds kept." in told
    assert likeness(kept.samples, spoken(FOUND)[: RATE // 2]) > 0.9
    assert f"{kept.seconds:.1f} s" in callout("squawk", "show", "1.1", "--logbook", str(log)).stdout


def pieces_in(log: Path) -> int:
    try:
        return int(str(rows(log, "SELECT count(*) FROM clips")[0][0]))
    except sqlite3.Error:  # not there yet, or being made
        return 0


def test_a_kill_in_one_without_sound_says_that_it_was_lost(tmp_path: Path):
    file, log = aircraft(tmp_path), tmp_path / "log.db"
    process = subprocess.Popen(
        run(file, log, "--ear", "keys"), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("squawk\nbolt missing\n")
    process.stdin.flush()
    for line in process.stdout:
        if "bolt missing" in line:
            break
    process.send_signal(signal.SIGKILL)
    process.wait(120)
    process.stdin.close()
    process.stdout.close()
    told = keyed(file, log, "resume")

    assert "Squawk broken off, its recording was lost." in told
    assert "bolt missing" in callout("squawk", "show", "1.1", "--logbook", str(log)).stdout


def test_one_that_was_left_open_is_told_the_next_day_and_read_at_its_station(tmp_path: Path):
    file, log = aircraft(tmp_path), tmp_path / "log.db"
    keyed(file, log, "squawk", "Loose rivet", "end squawk", "closed", "free", "end session")
    told = keyed(file, log, "closed", more=("--new",))

    assert "Open squawk: fuel cap." in told
    station = told.index("Left side.")
    assert station < told.index("Open squawk, today: fuel cap. Noted: Loose rivet.")
    assert told.index("Noted: Loose rivet.") < told.index("Fuel cap?")


def test_one_that_was_closed_by_command_is_told_no_more_and_its_history_stays(tmp_path: Path):
    file, log = aircraft(tmp_path), tmp_path / "log.db"
    keyed(file, log, "squawk", "Loose rivet", "end squawk", "ground the aircraft", "end session")
    refused = callout("squawk", "close", "1.1", "--how", "repaired", "--logbook", str(log))
    assert 2 == refused.returncode
    done = callout(
        "squawk", "close", "1.1", "--how", "riveted anew", "--who", "Ann", "--logbook", str(log)
    )
    assert 0 == done.returncode, done.stderr
    told = keyed(file, log, "closed", more=("--new",))

    assert "squawk" not in told.lower()
    shown = callout("squawk", "show", "1.1", "--logbook", str(log)).stdout
    assert "closed, riveted anew, by Ann" in shown
    assert "grounded" in shown
    again = callout("squawk", "close", "1.1", "--how", "x", "--who", "B", "--logbook", str(log))
    assert (2, True) == (again.returncode, "Squawk 1.1 is closed, not open." in again.stderr)
    none = callout("squawk", "show", "8.1", "--logbook", str(log))
    assert (2, True) == (none.returncode, "holds no squawk 8.1" in none.stderr)


def test_grounding_by_command_closes_the_start_of_the_next_session(tmp_path: Path):
    file, log = aircraft(tmp_path), tmp_path / "log.db"
    keyed(file, log, "squawk", "end squawk", "end session")
    assert 0 == callout("squawk", "ground", "1.1", "--who", "B", "--logbook", str(log)).returncode
    told = keyed(file, log, "closed", "free", "proceed", more=("--new",))

    assert "Aircraft grounded. Open squawk: fuel cap." in told
    assert "Start not opened. Aircraft grounded, squawk fuel cap." in told


def test_the_recording_is_written_out_as_a_file_that_anything_plays(day: Path, tmp_path: Path):
    out = tmp_path / "out.flac"
    done = callout("squawk", "play", "1.1", "--to", str(out), "--logbook", str(day / "log.db"))
    sound, rate = soundfile.read(out)

    assert 0 == done.returncode, done.stderr
    assert RATE == rate
    assert likeness(sound, spoken(FOUND)) > 0.99


def test_a_disregarded_squawk_leaves_no_sound(tmp_path: Path):
    aircraft(tmp_path)
    recording(tmp_path, (4.0, "squawk"), (7.0, FOUND), (12.0, "disregard"), seconds=16.0)
    done = subprocess.run(
        recorded(tmp_path, tmp_path / "log.db"), capture_output=True, timeout=240, check=False
    )

    assert 0 == done.returncode
    assert [(0,)] == rows(tmp_path / "log.db", "SELECT count(*) FROM clips")
    assert "No open squawk." in callout(
        "squawk", "list", "--logbook", str(tmp_path / "log.db")
    ).stdout  # fmt: skip


def test_sound_is_kept_for_squawks_alone_unless_the_owner_wants_it(tmp_path: Path, day: Path):
    assert [("1",)] == rows(day / "log.db", "SELECT DISTINCT name FROM clips")
    aircraft(tmp_path, "settings: {record_session: yes}\n")
    recording(tmp_path, *SAID, seconds=24.0)
    done = subprocess.run(
        recorded(tmp_path, tmp_path / "log.db"), capture_output=True, text=True, timeout=240,
        check=False,
    )  # fmt: skip

    assert "This session is being recorded." in done.stdout
    assert "`callout log purge` removes it" in done.stdout
    whole = clip(tmp_path / "log.db", 1, "session")
    assert whole is not None
    assert whole.seconds > 23.0
    opened = rows(tmp_path / "log.db", "SELECT data FROM entries WHERE name = 'SessionOpened'")
    assert json.loads(str(opened[0][0]))["recorded"] is True
    (sound,) = rows(
        tmp_path / "log.db", "SELECT sound FROM clips WHERE name = 'session' ORDER BY piece LIMIT 1"
    )[0]
    assert isinstance(sound, bytes)
    assert "OPUS" == soundfile.info(io.BytesIO(sound)).subtype
