"""The microphone: chosen by words, heard through PulseAudio, and lost."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
import soundfile
from ear_clips import RATE, clip, in_room
from ear_pulse import Pulse, pulse

from callout.ear.capture import _converter
from callout.ear.problems import MicrophoneLost
from callout.ear.sound_input import choose

DEVICES = [(0, "USB Headset: Audio (hw:1,0)"), (3, "Built-in Microphone"), (5, "USB Camera")]

OVERFLOW = """
import time
from callout.ear.capture import Microphone
microphone = Microphone(queue_seconds=0.2)
first = microphone.read(30.0)
late = time.monotonic() - first.ends_at
until = time.monotonic() + 30
while microphone.overflows <= 20 and time.monotonic() < until:
    time.sleep(0.1)
print(microphone.overflows > 20, -0.1 < late < 2)
waiting = [microphone.read(0.0) for _ in range(9)]
print([block.rate for block in waiting] == [16000] * 9)
microphone.close()
"""


@pytest.mark.parametrize(
    ("words", "number"),
    [
        ("", None),
        ("built-in", 3),
        ("HEADSET usb", 0),
        ("camera", 5),
        ("5", 5),
        ("Built-in Microphone", 3),
    ],
)
def test_a_microphone_is_chosen_by_words_of_its_name(words: str, number: int | None):
    assert number == choose(words, DEVICES)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (
            "usb",
            "2 microphones match 'usb', name one of them or its number: 0 USB .*; 5 USB Camera",
        ),
        ("tape", "No microphone matches 'tape'; there are: 0 USB .*; 3 Built-in .*; 5 USB Camera"),
        ("4", "No microphone matches '4'; there are"),
    ],
)
def test_words_that_fit_none_or_several_list_them(words: str, says: str):
    with pytest.raises(MicrophoneLost, match=says):
        choose(words, DEVICES)


@pytest.mark.parametrize("words", ["", "usb"])
def test_no_microphone_at_all_is_told(words: str):
    with pytest.raises(MicrophoneLost, match=r"connected"):
        choose(words, [])


@pytest.mark.parametrize("rate", [8_000, 44_100, 48_000])
def test_another_rate_is_converted_block_by_block_and_keeps_its_time(rate: int):
    """A click at 1 s stays within 2 ms of 1 s, and the level of a tone stays."""
    sound = 0.2 * np.sin(2 * np.pi * 440 * np.arange(2 * rate) / rate)
    sound[rate] = 1.0
    convert = _converter(rate)
    assert convert is not None
    size = rate // 50

    made = [
        convert(sound[at : at + size].astype(np.float32), 100.0 + at / rate)
        for at in range(0, len(sound), size)
    ]

    times = np.concatenate([at + np.arange(len(part)) / RATE for part, at in made if len(part)])
    joined = np.concatenate([part for part, _ in made])
    peak = times[np.argmax(np.abs(joined[: len(times)]))]
    assert 101.0 == pytest.approx(peak, abs=0.002)
    assert 0.2 / np.sqrt(2) == pytest.approx(joined[RATE // 2 : RATE - 160].std(), rel=0.02)


def test_16_khz_needs_no_converter():
    assert _converter(RATE) is None


@pytest.fixture
def server(tmp_path: Path):
    with pulse(tmp_path) as running:
        yield running


@contextmanager
def hear(server: Pulse, *options: str) -> Iterator[subprocess.Popen[str]]:
    """`callout hear`; nothing of it is left afterwards, however the test ends."""
    process = subprocess.Popen(
        [sys.executable, "-m", "callout", "hear", *options],
        env={**server.environment, "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    with process:
        try:
            yield process
        finally:
            process.kill()


def until(process: subprocess.Popen[str], word: str) -> str:
    """Read lines until one has the word."""
    assert process.stdout is not None
    for line in process.stdout:
        if word in line:
            return line
    raise AssertionError(process.communicate())


@pytest.mark.devices
def test_what_is_said_into_a_real_microphone_is_understood_until_it_is_lost(
    server: Pulse, tmp_path: Path
):
    """`callout hear` on PulseAudio hears a phrase; without the plug it says so, with status 2."""
    soundfile.write(tmp_path / "a.wav", in_room(clip("battery on").samples), RATE)
    with hear(server, "--phrase", "battery on", "--phrase", "fuel on") as process:
        until(process, "Listening")

        with ThreadPoolExecutor() as pool:
            heard = threading.Event()  # said again as long as it is not: sound may stutter
            pool.submit(lambda: [server.play(tmp_path / "a.wav") for _ in iter(heard.is_set, True)])
            try:
                line = until(process, "heard")
            finally:
                heard.set()
        server.stop()
        out, err = process.communicate(timeout=200)

    assert "heard    'battery on', certainty" in line
    assert 2 == process.returncode
    assert "The microphone 'default' stopped working." in err.splitlines()[-1] + out
    assert "Traceback" not in err


@pytest.mark.devices
def test_a_reader_that_sleeps_loses_sound_and_is_told_how_often(server: Pulse):
    answer = subprocess.run(
        [sys.executable, "-c", OVERFLOW],
        env=server.environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=200,
    )

    assert ["True True", "True"] == answer.stdout.split("\n")[:2], answer


@pytest.mark.devices
def test_a_microphone_that_is_not_there_is_told_with_those_that_are(server: Pulse):
    with hear(server, "--listen", "microphone:gramophone") as process:
        _, err = process.communicate(timeout=200)

    assert 2 == process.returncode
    assert "No microphone matches 'gramophone'; there are: " in err
    assert "pulse" in err


@pytest.mark.devices
def test_no_sound_server_is_a_sentence_too(server: Pulse):
    server.stop()

    with hear(server) as process:
        _, err = process.communicate(timeout=200)

    assert 2 == process.returncode
    assert "The microphone cannot be opened" in err or "No microphone is connected" in err
    assert "Traceback" not in err


REOPEN = """
import sys
from callout.ear.capture import Microphone
from callout.ear.problems import MicrophoneLost
for line in sys.stdin:
    try:
        microphone = Microphone()
        print(len(microphone.read(30.0).samples), flush=True)
        sys.stdin.readline()
        while True:
            microphone.read(0.1)
    except MicrophoneLost as lost:
        print(lost, flush=True)
"""


@pytest.mark.devices
def test_a_microphone_that_comes_later_or_comes_back_is_found(tmp_path: Path):
    """One process: none at first, then one, then unplugged, then plugged in again."""
    environment = {**os.environ, "XDG_RUNTIME_DIR": str(tmp_path), "HOME": str(tmp_path)}
    process = subprocess.Popen(
        [sys.executable, "-c", REOPEN],
        env=environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None

    def answer() -> str:
        process.stdin.write("go\n")
        process.stdin.flush()
        return process.stdout.readline().strip()

    assert "No microphone is connected." == answer()
    for _ in range(2):
        with pulse(tmp_path) as server:
            assert "160" == answer(), "10 ms at 16 kHz"
            server.stop()
            assert "The microphone 'default' stopped working." == answer()
    process.communicate(timeout=200)
