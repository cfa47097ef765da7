"""A session over a loudspeaker that the microphone hears, on sound devices, in real time.

The room takes what sounds in the loudspeaker's sink back into the microphone's
sink, later and at about the pilot's level (-26 dBFS, as in `callout bench
own-voice`), over faint noise. What callout makes of its own voice there stands
in its logbook.
"""

from __future__ import annotations

import fcntl
import os
import select
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from spoken_words import spoken
from virtual_sound import MICROPHONE, RATE, Program, SoundServer, first_in_line

from callout.engine.events import Heard, NotUnderstood
from callout.logbook.store import Logbook

pytestmark = [
    pytest.mark.devices,
    pytest.mark.timeout(150),
    # Real time: other work on the machine can starve the sound server itself.
    pytest.mark.flaky(reruns=2),
]

CALLOUT = str(Path(sys.executable).parent / "callout")
LOUDSPEAKER = "module-null-sink sink_name=loudspeaker rate=48000"
CHUNK = RATE // 50
ECHO = 0.5
"""Callout speaks at -20 dBFS (callout/voice/shape.py)."""
LATE = 0.08
"""Seconds; the way through the two sinks and this program's pipes adds some 40 to 60 ms."""
LONG = """
callout: 1
aircraft:
  name: Wrenlet
  revision: "1"
  written_by: a test
  limits_from: {handbook: "none, all numbers are invented"}
  notice: This is a test. The Wrenlet is invented, and so is its checklist.
settings: {answer_time: 3 s}
lists:
  look:
    title: short look
    items:
      - id: lever
        call: on the left side panel below the instrument board, the small red fuel lever
        answer: closed
      - {call: battery master, answer: disconnected}
"""
SET_PIPE_SIZE = 1031  # F_SETPIPE_SZ of Linux


class Room(threading.Thread):
    """Takes the loudspeaker's sound into the microphone, `late` seconds later or a little more."""

    def __init__(self, server: SoundServer, late: float) -> None:
        super().__init__(daemon=True)
        how = [f"--rate={RATE}", "--channels=1", "--format=s16le"]
        out = ["parec", "--device=loudspeaker.monitor", "--latency-msec=20", *how]
        into = ["pacat", "--playback", "--device=hangar_mic", "--latency-msec=40", *how]
        env, pipe, quiet = server.environment, subprocess.PIPE, subprocess.DEVNULL
        self._from = first_in_line(subprocess.Popen(out, env=env, stdout=pipe, stderr=quiet))
        self._into = first_in_line(subprocess.Popen(into, env=env, stdin=pipe, stderr=quiet))
        assert self._from.stdout is not None
        assert self._into.stdin is not None
        self._source, self._sink = self._from.stdout.fileno(), self._into.stdin.fileno()
        for one in (self._source, self._sink):  # no more than 0.13 s may wait
            fcntl.fcntl(one, SET_PIPE_SIZE, 4096)
        self._way = [np.zeros(CHUNK)] * round(late * RATE / CHUNK)
        self._saying: np.ndarray = np.zeros(0)
        self._random = np.random.default_rng(1)
        self.loudest = 0.0
        self.start()

    def say(self, text: str) -> None:
        """Let a voice that is not callout's say it, from a moment from now on."""
        self._saying = spoken(text) * 0.5

    def run(self) -> None:
        with suppress(BrokenPipeError):  # closed meanwhile
            self._carry()

    def _carry(self) -> None:
        left = b""
        while raw := os.read(self._source, 2 * CHUNK - len(left)):
            left += raw
            if len(left) == 2 * CHUNK:
                self._pass(np.frombuffer(left, "<i2") / 32768)
                left = b""

    def _pass(self, sound: np.ndarray) -> None:
        self._way.append(sound * ECHO)
        caught = self._way.pop(0) + self._random.normal(0, 0.001, CHUNK)
        self.loudest = max(self.loudest, float(np.abs(caught).max()))
        said, self._saying = self._saying[:CHUNK], self._saying[CHUNK:]
        caught[: len(said)] += said
        if select.select([], [self._sink], [], 0)[1]:  # else it would come later and later
            os.write(self._sink, (caught.clip(-1, 1) * 32767).astype("<i2").tobytes())

    def close(self) -> None:
        for process in (self._from, self._into):
            process.kill()
            process.wait()
        self.join(timeout=5)
        for end in (self._into.stdin, self._from.stdout):
            if end is not None:
                end.close()


@pytest.fixture
def server() -> Iterator[SoundServer]:
    with SoundServer(MICROPHONE, LOUDSPEAKER) as one:
        yield one


def heard(log: Path) -> list[str]:
    """Everything that the ear passed on, in order; what was typed is none of it."""
    with Logbook.read(log) as logbook:
        events = [event for _, event in logbook.events(1)]
    return [
        event.text if isinstance(event, Heard) else "?"
        for event in events
        if isinstance(event, Heard | NotUnderstood) and event.source != "keys"
    ]


def ticked(log: Path) -> list[str]:
    with Logbook.read(log) as logbook:
        return [fact.about for _, fact in logbook.facts(1) if fact.fact == "ticked"]


@pytest.fixture
def place(server: SoundServer) -> Iterator[Room]:
    room = Room(server, LATE)
    try:
        yield room
    finally:
        room.close()


def test_it_does_not_hear_itself_and_hears_a_pilot_over_the_call(
    server: SoundServer, place: Room, tmp_path: Path
) -> None:
    """Notice, call and repeat, nobody there: nothing is heard. Then a word over a call counts,
    and one after a call.  `callout bench own-voice` says how many do."""
    log, lists = tmp_path / "log.db", tmp_path / "long.yaml"
    lists.write_text(LONG, encoding="utf-8")
    ends = ("--listen", "microphone:pulse", "--speak", "loudspeaker:pulse")
    devices = {"PULSE_SOURCE": "hangar_mic.monitor", "PULSE_SINK": "loudspeaker"}
    command = [CALLOUT, "run", str(lists), "look", "--logbook", str(log), *ends]
    time.sleep(2.5)  # a null sink is up to 2 s ahead of itself at first
    program = Program(command, server.environment | devices)
    try:
        line = program.wait_for("Standing by", timeout=70)  # after the call and its repeat
        time.sleep(3)
        said = "\n".join(program.lines)
        assert place.loudest > 0.1, "the microphone heard callout"
        assert [] == heard(log), said
        assert [] == ticked(log)
        assert "Not understood" not in said
        program.type("resume")
        line = over_the_call(program, place, log, program.wait_for("fuel lever", after=line))
        program.wait_for("Battery master?", after=line)
        time.sleep(2.5)  # it is being said
        place.say("disconnected")
        program.wait_for("complete", after=line)
        assert ["closed", "disconnected"] == heard(log), "\n".join(program.lines)
        assert ["look/lever", "look/battery-master"] == ticked(log)
    finally:
        program.close()


def over_the_call(program: Program, place: Room, log: Path, line: int) -> int:
    """The call is heard again until a word over it counts; it takes 4 s, the word comes after
    1.5 s."""
    for _ in range(6):
        time.sleep(1.5)
        place.say("closed")
        time.sleep(3.5)
        if heard(log):
            break
        program.type("say again")
        line = program.wait_for("fuel lever", after=line)
    return line
