"""A newcomer at virtual sound devices: how soon the first call is made, without reading."""

import sys
import time
from pathlib import Path

import pytest
from virtual_sound import HEADSET, MICROPHONE, PATIENCE, Program, SoundServer

from callout.benches.pilot import Pilot
from callout.benches.train import voice_of

pytestmark = [
    pytest.mark.devices,
    # Real time: other work on the machine can starve the sound server itself.
    pytest.mark.flaky(reruns=2),
]

CALLOUT = str(Path(sys.executable).parent / "callout")
REEDLARK = str(Path(__file__).parents[2] / "checklists" / "reedlark.yaml")

LATEST = 60.0
"""Seconds of the drill in which a newcomer has to be told his first call: a bar."""


def test_a_newcomer_is_told_what_to_say_within_a_minute_and_is_heard(tmp_path):
    book = str(tmp_path / "book.db")
    ends = ("--listen", "microphone:pulse", "--speak", "loudspeaker:pulse", "--headset")
    words = [CALLOUT, "train", REEDLARK, "--role", "helper", *ends, "--book", book]
    ready = Pilot(voice_of("hibari")).say("ready").samples
    with SoundServer(MICROPHONE, HEADSET) as server:
        program = Program(words, server.environment)
        began = time.monotonic()
        try:
            told = program.lines[program.wait_for("Say: ready.", timeout=4 * PATIENCE) - 1]
            minutes, seconds = told.split()[0].split(":")
            assert 60 * int(minutes) + float(seconds) < LATEST
            while not any("helper   ready" in line for line in program.lines):
                time.sleep(1.5)  # it is being said
                server.play(ready).wait()
                assert time.monotonic() - began < 4 * PATIENCE
                time.sleep(0.8)
            print(f"heard {time.monotonic() - began:.1f} s after the command")
        finally:
            program.close()
