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
    # Real time: other work on the machine can starve the sound server itself.
    pytest.mark.flaky(reruns=2),
]

CALLOUT = str(Path(sys.executable).parent / "callout")
REEDLARK = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"
LOUDSPEAKER = "module-null-sink sink_name=loudspeaker rate=48000"
CHUNK = RATE // 50
ECHO = 0.5
"""Callout speaks at -20 dBFS (callout/voice/shape.py)."""
LATE = 0.08
"""Seconds; the way through the two sinks and this program's pipes adds some 40 to 60 ms."""
SET_PIPE_SIZE = 1031  # F_SETPIPE_SZ of Linux


def punctual() -> None:
    """This thread goes before other programs, if it may: no room's echo is late by chance."""
    with suppress(AttributeError, OSError):
        how = os.SCHED_RR | os.SCHED_RESET_ON_FORK
        os.sched_setscheduler(0, how, os.sched_param(10))


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
        punctual()  # it shares the interpreter's lock
        self.loudest = 0.0
        self.start()

    def say(self, text: str) -> None:
        """Let a voice that is not callout's say it, from a moment from now on."""
        self._saying = spoken(text) * 0.5

    def run(self) -> None:
        punctual()
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
        self.join(timeout=60)
        for end in (self._into.stdin, self._from.stdout):
            if end is not None:
                end.close()


@pytest.fixture
def server() -> Iterator[SoundServer]:
    with SoundServer(MICROPHONE, LOUDSPEAKER) as one:
        yield one


def impatient(folder: Path) -> Path:
    """The example aircraft, that asks again and stands by sooner: only silence is left out."""
    text, usual = REEDLARK.read_text(encoding="utf-8"), "  answer_time: 12 s\n"
    assert usual in text
    path = folder / "reedlark.yaml"
    path.write_text(text.replace(usual, "  answer_time: 7 s\n"), encoding="utf-8")
    return path


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


def test_a_session_does_not_hear_itself(server: SoundServer, tmp_path: Path) -> None:
    """A notice, calls and a repeat, nobody there; then one answer after a call counts.

    How many answers over a call count is measured by `callout bench own-voice`; that they do
    is held in recording time by test_echo_guard.py.
    """
    room = Room(server, LATE)
    log = tmp_path / "log.db"
    ends = ("--listen", "microphone:pulse", "--speak", "loudspeaker:pulse")
    devices = {"PULSE_SOURCE": "hangar_mic.monitor", "PULSE_SINK": "loudspeaker"}
    command = [CALLOUT, "run", str(impatient(tmp_path)), "walk-round", "--logbook", str(log)]
    time.sleep(2.5)  # a null sink is up to 2 s ahead of itself at first
    program = Program([*command, *ends], server.environment | devices)
    try:
        line = program.wait_for("Standing by", timeout=120)  # after the call and its repeat
        time.sleep(3)
        program.type("resume")
        line = program.wait_for("Fuel lever?", after=line)
        time.sleep(3)
        said = "\n".join(program.lines)
        assert room.loudest > 0.1, "the microphone heard callout"
        assert [] == heard(log), said
        assert [] == ticked(log)
        assert "Not understood" not in said
        room.say("closed")
        program.wait_for("Battery master?", after=line)
        assert ["closed"] == heard(log)
        assert ["walk-round/fuel-lever"] == ticked(log)
    finally:
        program.close()
        room.close()
