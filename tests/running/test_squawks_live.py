"""A squawk through sound devices: spoken into the microphone, got back, read the next day."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from squawk_rig import FOUND, aircraft, clip, likeness, rows, spoken
from virtual_sound import HEADSET, MICROPHONE, RATE, Program, Recorder, SoundServer

pytestmark = [
    pytest.mark.devices,
    pytest.mark.timeout(150),
    # Real time: other work on the machine can starve the sound server itself; and eSpeak, which
    # speaks here, says each word a little differently every time, one in some not clearly enough.
    pytest.mark.flaky(reruns=4),
]

CALLOUT = str(Path(sys.executable).parent / "callout")
DEVICES = {"PULSE_SOURCE": "hangar_mic.monitor", "PULSE_SINK": "headset"}


@pytest.fixture
def server() -> Iterator[SoundServer]:
    with SoundServer(MICROPHONE, HEADSET) as one:
        yield one


def session(server: SoundServer, file: Path, log: Path, *more: str) -> Program:
    ends = ("--listen", "microphone:pulse", "--speak", "loudspeaker:pulse", "--headset")
    command = [CALLOUT, "run", str(file), "walk-round", "--logbook", str(log), *ends, *more]
    return Program(command, server.environment | DEVICES)


def test_a_squawk_is_spoken_got_back_and_read_at_its_station_the_next_day(
    server: SoundServer, tmp_path: Path
) -> None:
    file, log = aircraft(tmp_path), tmp_path / "log.db"
    program = session(server, file, log)
    try:
        line = program.wait_for("Fuel cap?", timeout=40)
        time.sleep(2.0)
        server.play(spoken("squawk"))
        line = program.wait_for("Go ahead.", after=line)
        time.sleep(1.5)
        server.play(spoken(FOUND))
        time.sleep(len(spoken(FOUND)) / RATE + 1.0)
        server.play(spoken("end squawk"))
        line = program.wait_for("Squawk kept.", after=line)
        program.wait_for("Fuel cap?", after=line)
        time.sleep(3.0)
    finally:
        program.close()

    (until,) = rows(
        log, "SELECT json_extract(data, '$.data') FROM entries WHERE name = 'squawk kept'"
    )[0]
    times = dict(map(tuple, json.loads(str(until))))
    kept = clip(log, 1, "1", float(times["until"]))
    assert kept is not None
    assert likeness(kept.samples, spoken(FOUND)) > 0.9
    assert likeness(kept.samples, spoken("end squawk")) < 0.6

    program = session(server, file, log, "--new")
    recorder = Recorder(server)
    try:
        line = program.wait_for("Open squawk: fuel cap.", timeout=40)
        line = program.wait_for("Left side.", after=line)
        line = program.wait_for("Open squawk, today: fuel cap.", after=line)
        line = program.wait_for("Fuel cap?", after=line)
        time.sleep(6.0)
        since = len(recorder.sound())
        server.play(spoken("play squawk"))
        line = program.wait_for("Squawk fuel cap.", after=line)
        program.wait_for("Fuel cap?", after=line, timeout=kept.seconds + 15)
        played = np.asarray(recorder.sound()[since:], np.float64)
    finally:
        program.close()
        recorder.close()
    assert likeness(played, spoken(FOUND)) > 0.8
    assert [] == rows(log, "SELECT 1 FROM entries WHERE name = 'ticked'")
