"""A squawk through sound devices: spoken into the microphone, kept, heard in the headset."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from squawk_rig import FOUND, aircraft, clip, likeness, likeness_of_parts, rows, spoken
from virtual_sound import HEADSET, MICROPHONE, RATE, Program, Recorder, SoundServer, room

from callout.engine.squawk_state import LAST_WRITTEN

pytestmark = [
    pytest.mark.devices,
    # Real time: other work on the machine can starve the sound server itself.
    pytest.mark.flaky(reruns=2),
]

CALLOUT = str(Path(sys.executable).parent / "callout")
DEVICES = {"PULSE_SOURCE": "hangar_mic.monitor", "PULSE_SINK": "headset"}

PAUSE = 1.3
"""Seconds between what was found and "end squawk": after 0.6 s it is taken for more of the same."""


@pytest.fixture
def server() -> Iterator[SoundServer]:
    """The microphone stands in a room: amid digital silence words are missed (3 in 10 of them)."""
    with SoundServer(MICROPHONE, HEADSET) as one:
        one.play(room(240))
        yield one


def session(server: SoundServer, file: Path, log: Path) -> Program:
    ends = ("--listen", "microphone:pulse", "--speak", "loudspeaker:pulse", "--headset")
    command = [CALLOUT, "run", str(file), "walk-round", "--logbook", str(log), *ends]
    return Program(command, server.environment | DEVICES)


def test_a_squawk_is_spoken_kept_and_played(server: SoundServer, tmp_path: Path) -> None:
    """What is read of it the next day stands in test_squawks.py, by typed words."""
    file, log = aircraft(tmp_path), tmp_path / "log.db"
    program = session(server, file, log)
    recorder = Recorder(server)
    try:
        line = program.wait_for("Fuel cap?")
        recorder.wait_until_said(0, quiet=1.0)
        server.play(spoken("squawk"))
        said = len(recorder.sound())
        line = program.wait_for("Go ahead.", after=line)
        recorder.wait_until_said(said)
        server.play(spoken(FOUND))
        time.sleep(len(spoken(FOUND)) / RATE + PAUSE)
        server.play(spoken("end squawk"))
        line = program.wait_for("Squawk kept.", after=line)
        line = program.wait_for("Fuel cap?", after=line)
        time.sleep(LAST_WRITTEN)
        said = len(recorder.sound())
        server.play(spoken("play squawk"))
        line = program.wait_for("Squawk fuel cap.", after=line)
        program.wait_for("Fuel cap?", after=line)
        played = np.asarray(recorder.sound()[said:], np.float64)
    finally:
        program.close()
        recorder.close()

    (until,) = rows(
        log, "SELECT json_extract(data, '$.data') FROM entries WHERE name = 'squawk kept'"
    )[0]
    times = dict(map(tuple, json.loads(str(until))))
    kept = clip(log, 1, "1", float(times["until"]))
    assert kept is not None
    assert likeness_of_parts(kept.samples, spoken(FOUND)) > 0.9
    assert likeness(kept.samples, spoken("end squawk")) < 0.6
    assert likeness_of_parts(played, spoken(FOUND)) > 0.8
    assert [] == rows(log, "SELECT 1 FROM entries WHERE name = 'ticked'")
