"""A machine without sound is told in one sentence; sound itself is tested on virtual devices."""

import os
import subprocess
import sys

from callout.voice.in_hand import LEAST, MOST, InHand

PROGRAM = """
from callout.voice.loudspeaker import Loudspeaker
from callout.voice.protocol import VoiceLost
try:
    Loudspeaker({words!r})
except VoiceLost as lost:
    print(lost)
"""


def outcome(words: str | None, **environment: str) -> str:
    """What it prints in a process that can reach no sound server."""
    ended = subprocess.run(
        [sys.executable, "-c", PROGRAM.format(words=words)],
        capture_output=True,
        text=True,
        timeout=200,
        check=True,
        env={**os.environ, "XDG_RUNTIME_DIR": "/nowhere", "PULSE_SERVER": "/nowhere"} | environment,
    )
    return ended.stdout


def test_a_device_that_is_not_there_is_named_with_those_that_are():
    said = outcome("no such headset")

    assert "no such headset" in said
    assert "The output devices here are: " in said


def test_a_machine_without_portaudio_is_told_how_to_install_it(tmp_path):
    """The import fails as sounddevice's does when the C library is missing."""
    (tmp_path / "sounddevice.py").write_text('raise OSError("PortAudio library not found")\n')

    assert (
        "There is no sound: the library PortAudio is missing; on Debian install it with: "
        "sudo apt install libportaudio2 (PortAudio library not found)\n"
    ) == outcome(None, PYTHONPATH=str(tmp_path))


DEVICE = """
import threading, time, types
import numpy as np

class PortAudioError(Exception):
    pass

def query_devices(words=None, kind=None):
    return {"name": "slow", "index": 0, "max_output_channels": 1, "default_samplerate": 24000.0}

def check_output_settings(*_, **__):
    pass

OPENED = []

class OutputStream:
    'Runs out of sound at every request unless it holds 30 ms.'
    def __init__(self, *, latency, callback, blocksize, **_):
        OPENED.append(latency)
        self.latency, self.callback, self.blocksize, self.on = latency, callback, blocksize, True
    def start(self):
        threading.Thread(target=self.run, daemon=True).start()
    def run(self):
        status = types.SimpleNamespace(output_underflow=self.latency < 0.03)
        times = types.SimpleNamespace(outputBufferDacTime=0.0, currentTime=0.0)
        while self.on:
            self.callback(np.zeros((self.blocksize, 1), np.float32), self.blocksize, times, status)
            time.sleep(0.005)
    def close(self, *_):
        self.on = False
"""


def with_device(folder, program: str) -> str:
    """What the program prints where the module sounddevice is the stand-in."""
    (folder / "sounddevice.py").write_text(DEVICE)
    ended = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        timeout=200,
        check=True,
        env={**os.environ, "PYTHONPATH": str(folder)},
    )
    return ended.stdout


GOING_AWAY = """
import queue
import sounddevice
from callout.voice.loudspeaker import Loudspeaker
from callout.voice.protocol import VoiceLost

told = queue.Queue()

def check():
    raise VoiceLost("no such device")

speaker = Loudspeaker(on_lost=told.put, check=check)
running_out = speaker._in_hand.open_anew

def going_away(*asked):
    again = running_out(*asked)
    speaker._stream.on = not again
    return again

speaker._in_hand.open_anew = going_away
print(told.get(timeout=100), len(sounddevice.OPENED))
"""


def test_a_device_that_runs_out_of_sound_because_it_goes_away_is_not_opened_again(tmp_path):
    """Opening it in that moment ends the process in PortAudio 19.6: another process tries first."""
    assert 'The sound device "slow" is gone: no such device 1\n' == with_device(
        tmp_path, GOING_AWAY
    )


HELD = """
import time
import sounddevice
from callout.voice.loudspeaker import Loudspeaker
speaker = Loudspeaker()
until = time.monotonic() + 100
while speaker.reopened < 2 and time.monotonic() < until:
    time.sleep(0.05)
before = speaker.underflows
time.sleep(3.0)
print(sounddevice.OPENED, speaker.reopened, speaker.underflows - before)
speaker.close()
"""


def test_a_device_that_keeps_running_out_of_sound_is_opened_with_more_in_hand(tmp_path):
    """A stand-in for sounddevice whose device needs 30 ms; it is left alone once it has them."""
    assert "[0.015, 0.015, 0.03] 2 0\n" == with_device(tmp_path, HELD)


def test_a_device_that_runs_out_once_in_a_while_keeps_little_in_hand():
    held = InHand()
    held.opened(3, 10.0)

    assert not held.open_anew(3 + 100, 11.0), "not before the window is over"
    assert held.open_anew(3 + 100, 12.0)
    assert LEAST == held.seconds, "once as it was"
    assert not held.open_anew(3 + 107, 14.0)
    assert held.open_anew(3 + 207, 16.0)
    assert 2 * LEAST == held.seconds
    anew = [held.open_anew(1000 * second, float(second)) for second in range(20, 40, 2)]
    assert MOST == held.seconds
    assert anew[-1] is False, "more does not help"
