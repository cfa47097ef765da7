"""A part of the machine fails: what the pilot hears, and what the log holds.

The parts are stood in for by what behaves as they do when they fail; the same on sound
devices is in test_devices.py. A table of all faults is in DEVELOPERS.md.
"""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from test_taking_up import aircraft

from callout.audio_block import AudioBlock
from callout.ear.capture import Microphone
from callout.engine.effects import Priority, Say
from callout.engine.events import Event, Lost, Restored
from callout.running import live
from callout.running.live import Inbox, Listening
from callout.running.mouth import Mouth
from callout.running.outputs import Nowhere
from callout.voice.clips import Clips
from callout.words.phrases import Grammar

RATE = 16_000


class PortAudioError(Exception):
    """As sounddevice's own."""


class Stream:
    """A device that gives a few blocks at its own rate, then is pulled out."""

    def __init__(self, callback, finished_callback, samplerate, blocksize, **_: object) -> None:
        self.work = lambda: self._give(callback, finished_callback, samplerate, blocksize)

    def start(self) -> None:
        threading.Thread(target=self.work, daemon=True).start()

    def _give(self, callback, finished, rate: int, size: int) -> None:
        sound = np.zeros((size, 1), np.float32)
        clock = SimpleNamespace(currentTime=1.0, inputBufferAdcTime=1.0 - size / rate)
        for _ in range(5):
            callback(sound, size, clock, SimpleNamespace(input_overflow=False))
        finished()

    def close(self) -> None:
        """Nothing to close."""


class NeverClosed(Stream):
    """As one whose sound server is gone: its library waits for a lock for ever."""

    over = threading.Event()

    def close(self) -> None:
        self.over.wait()


class Sound:
    """sounddevice with one microphone that runs at one rate only."""

    PortAudioError = PortAudioError

    def __init__(self, name: str, rate: int, stream: type[Stream] = Stream) -> None:
        self._stream = stream
        self.about = {"name": name, "max_input_channels": 1, "default_samplerate": rate}

    def query_devices(self, device: object = None, kind: str = ""):
        return self.about if kind else [self.about]

    def InputStream(self, samplerate: int, **options):  # noqa: N802  the library's name
        if samplerate != self.about["default_samplerate"]:
            raise PortAudioError("Invalid sample rate")
        return self._stream(samplerate=samplerate, **options)


class Deaf:
    """An ear that counts the samples it was given, and at which rate."""

    name = "deaf"

    def __init__(self) -> None:
        self.given: list[AudioBlock] = []

    def listen_for(self, grammar: Grammar) -> None:
        """Nothing counts."""

    def hear(self, block: AudioBlock):
        self.given.append(block)
        return ()

    def close(self) -> None:
        """Nothing to close."""


def plugged_in_turn(words: str, *sounds: Sound):
    """Each time the microphone is opened the next of these is what is plugged in."""
    left = list(sounds)

    def opened() -> Iterator[AudioBlock | None]:
        if not left:
            raise PortAudioError("nothing is plugged in")
        yield from Microphone(words, sound=left.pop(0)).blocks()

    return opened


def events_of(opened, count: int) -> tuple[list[Event], Deaf]:
    """What the listening thread tells the session until it told so many things."""
    inbox, ear = Inbox(), Deaf()
    listening = Listening(ear, opened, inbox)
    listening.start()
    try:
        return [inbox.get(timeout=60) for _ in range(count)], ear
    finally:
        listening.stop()


@pytest.fixture
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """The microphone is looked for again at once."""
    monkeypatch.setattr(live, "RETRY", 0.01)


@pytest.mark.usefixtures("soon")
def test_a_microphone_that_never_closes_is_told_as_lost_and_another_is_heard():
    opened = plugged_in_turn("", Sound("gone", RATE, NeverClosed), Sound("new", RATE))
    try:
        (first, second), _ = events_of(opened, 2)
    finally:
        NeverClosed.over.set()

    assert isinstance(first, Lost)
    assert Restored("microphone") == second


ENDS = """
import atexit, sys, threading
from types import ModuleType
from callout.giving_back import give_back

class Gone:
    def close(self):
        threading.Event().wait()

sounddevice = ModuleType("sounddevice")  # as the library does when it is loaded
sounddevice._exit_handler = Gone().close
atexit.register(sounddevice._exit_handler)
sys.modules["sounddevice"] = sounddevice
give_back(Gone(), within=0.01)
"""


def test_a_program_ends_though_a_device_never_closes():
    """The sound library closes all that is open when the program ends, and would wait too."""
    assert 0 == subprocess.run([sys.executable, "-c", ENDS], timeout=60, check=False).returncode


@pytest.mark.usefixtures("soon")
@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000])
def test_a_microphone_that_comes_back_by_another_name_and_rate_is_heard_as_before(rate: int):
    """Where none was named. Lost is told once, and that it works again; sound is 16 kHz still."""
    opened = plugged_in_turn("", Sound("USB Headset", 16_000), Sound("USB Headset #2", rate))
    (first, second, third), ear = events_of(opened, 3)

    assert first == Lost("microphone", "The microphone 'USB Headset' stopped working.")
    assert Restored("microphone") == second
    assert third == Lost("microphone", "The microphone 'USB Headset #2' stopped working.")
    assert {RATE} == {block.rate for block in ear.given}


@pytest.mark.usefixtures("soon")
def test_a_microphone_that_was_named_is_not_replaced_by_another_one():
    """Whoever named it does not want the one in the lid of the computer: the keys are left."""
    named = Sound("USB Headset", RATE)
    opened = plugged_in_turn("usb", named, Sound("Lid", RATE), Sound("Lid", RATE), named)
    (first, second), _ = events_of(opened, 2)

    assert isinstance(first, Lost)
    assert Restored("microphone") == second


class Hangs:
    """A voice that says one sentence and then never answers."""

    name = identity = "hangs"

    def __init__(self) -> None:
        self.asked: queue.SimpleQueue[str] = queue.SimpleQueue()
        self.free = threading.Event()

    def synthesise(self, sentence: str) -> AudioBlock:
        self.asked.put(sentence)
        if sentence != "Fuel lever?":
            self.free.wait()
        return AudioBlock(np.sin(np.arange(24_000) / 10).astype(np.float32), 24_000)


def test_a_voice_that_hangs_is_lost_and_the_session_goes_on(tmp_path: Path):
    """Said once on the screen; what the voice had made is not asked of it again."""
    voice, told = Hangs(), []
    clips = Clips(voice, tmp_path, longest=0.2)
    clips.prepare(["Fuel lever?"])  # beforehand: on a busy machine it takes longer than that
    assert clips.wait(60.0)
    mouth = Mouth(SimpleNamespace(sentence=clips.get, tone=None), Nowhere(), told.append)
    try:
        mouth.say(Say(1, "Fuel lever?", Priority.PROCEDURE), 0.0)
        mouth.say(Say(2, "Battery master?", Priority.PROCEDURE), 0.1)
        assert 1 == mouth.over(2.0)
        assert ["The voice hangs: no sentence came for 0.2 seconds."] == told
        assert not mouth.has_voice
        assert 2 == mouth.over(9.0), "a sentence takes the time of reading it"
        assert clips.get("Fuel lever?").seconds > 0.5
        with pytest.raises(Exception, match="hangs"):
            clips.get("Tail rotor?")
    finally:
        voice.free.set()
        clips.close()


BROKEN = 'raise ImportError("libonnxruntime.so.1: cannot open shared object file")\n'


def test_without_onnxruntime_the_program_says_what_to_install_and_that_keys_are_left(
    tmp_path: Path,
):
    """It ends with a sentence before a session is begun."""
    (tmp_path / "onnxruntime").mkdir()
    (tmp_path / "onnxruntime" / "__init__.py").write_text(BROKEN, encoding="utf-8")
    command = [sys.executable, "-m", "callout", "run", str(aircraft(tmp_path)), "--speak", "none"]
    done = subprocess.run(
        [*command, "--logbook", str(tmp_path / "log.db")],
        env=os.environ | {"PYTHONPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
        timeout=240,
    )

    assert 2 == done.returncode
    assert "The built-in ear needs onnxruntime (libonnxruntime.so.1" in done.stderr
    assert "--ear keys" in done.stderr
    assert "Traceback" not in done.stderr
