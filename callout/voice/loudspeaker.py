"""The loudspeaker or headset: clips to a sound device, cut within one block.

Rule of this file: the stream runs all the time, so that speech starts with the
next block instead of with the opening of a device. The callback only copies;
everything else (telling that a clip has ended, noticing that the device is
gone) happens on a thread of our own, which keeps one rule more: a device that
has asked for nothing for two seconds is opened anew, whatever it says of
itself, and is lost when that fails.
"""

from __future__ import annotations

import importlib
import queue
import threading
import time
from collections.abc import Callable
from types import ModuleType
from typing import Any

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.giving_back import give_back
from callout.voice.clips import CLIP_RATE
from callout.voice.in_hand import InHand
from callout.voice.mixer import Mixer, Playing
from callout.voice.protocol import VoiceLost
from callout.voice.shape import resampled

BLOCK = 0.005
"""Seconds the device asks for at a time."""

LOST_AFTER = 2.0
"""Seconds without a request after which a device is opened anew."""

DYING = 0.5
"""Seconds in which a device that ran out of sound shows whether it is going away.

One that goes away runs out first. Opened anew in that moment it can end the
process (see `check`), so it is given time to fall silent or to be told as ended.
"""

OPENING = 4.0
"""Seconds a device has to begin asking steadily; PulseAudio's null sink needs up to 1.8."""

_STEADY = 10  # blocks asked for, after which a device runs

_PORTAUDIO = (
    "There is no sound: the library PortAudio is missing; "
    "on Debian install it with: sudo apt install libportaudio2"
)


class Loudspeaker:
    """An open output device; made when it runs, which takes it a tenth of a second.

    Args:
        device_words: part of the device's name ("" or None: the system's own choice)
        on_lost: called once, from another thread, when the device is gone
        rate: Hz; a device that refuses it runs at its own rate and clips are resampled
        check: called before a device that failed or stood still is opened anew; raises
            VoiceLost where that is hopeless. Opening a device that is just going away can
            end the whole process (PortAudio 19.6 asserts), so somebody else may try first.
        on_change: told, from another thread, at which time.monotonic() the device was given
            the first sample of a clip, or of silence after a cut

    Fields:
        name, rate: of the device
        underflows: how many times the device ran out of sound (a crackle each)
        reopened: how many times the device stood still and was opened anew
        tap: gets each block with its rate (Hz) when the device is given it, on the device's
            own thread; it copies and leaves

    Raises VoiceLost: no PortAudio, no such device, several such devices (with
    their names), or a device that cannot be opened or takes no sound.
    """

    def __init__(
        self,
        device_words: str | None = None,
        on_lost: Callable[[VoiceLost], None] = lambda lost: None,
        rate: int = CLIP_RATE,
        check: Callable[[], None] = lambda: None,
        on_change: Callable[[float, Playing | None], None] | None = None,
    ) -> None:
        sounddevice = _portaudio()
        device = _device(sounddevice, device_words)
        self.name = str(device["name"])
        self.rate = _accepted_rate(sounddevice, device, rate)
        self._on_lost = on_lost
        self._check = check
        self._mixer = Mixer(self.rate)
        self._in_hand = InHand()
        self._orders = threading.Lock()  # callers', never the callback's
        self._ended: queue.SimpleQueue[tuple[float, Playing] | None] = queue.SimpleQueue()
        self._on_change = on_change
        self._sounding: Playing | None = None  # written by the callback alone
        self._changes: list[tuple[float, Playing | None]] = []
        self._asked_at = time.monotonic()  # last time that the device asked for sound
        self._blocks = 0
        self.underflows = 0
        self.reopened = 0
        self.tap: Callable[[Samples, int], None] | None = None
        self._closing = False
        self._opening = 0  # how many times a stream was opened
        self._finished = 0  # which of these streams has ended by itself
        self._lost: VoiceLost | None = None
        self._sounddevice = sounddevice
        self._device = device
        self._stream: Any = None
        self._open()
        self._watcher = threading.Thread(target=self._watch, name="loudspeaker", daemon=True)
        self._watcher.start()

    @property
    def latency(self) -> float:
        """Seconds from a sample being handed over to its being heard, as the device tells it."""
        return float(self._stream.latency)

    def play(
        self,
        clip: AudioBlock,
        done: Callable[[], None] = lambda: None,
        follow: bool = False,
    ) -> None:
        """Say the clip from the next block on; what is being said is cut.

        `follow`: let what is being said end first (a sentence after a tone).
        `done` is called from another thread when the last sample is out, and
        never when the clip was cut. Raises VoiceLost when the device is gone.
        """
        if self._lost is not None:
            raise self._lost
        playing = Playing(resampled(clip, self.rate).samples, done)
        with self._orders:
            if follow:
                self._mixer.follow(playing)
            else:
                self._mixer.play(playing)

    def stop(self) -> None:
        """Be silent: within one block, dying away in 5 ms."""
        with self._orders:
            self._mixer.stop()

    def close(self) -> None:
        """Give the device back; what is being said is cut."""
        self._closing = True
        self._ended.put(None)
        if threading.current_thread() is not self._watcher:
            self._watcher.join(timeout=2)
        give_back(self._stream)

    def _open(self) -> None:
        """Open the device and wait until it asks for sound.  Raises VoiceLost."""
        self._opening += 1
        number = self._opening
        try:
            self._stream = self._sounddevice.OutputStream(
                samplerate=self.rate,
                blocksize=round(BLOCK * self.rate),
                device=self._device["index"],
                channels=min(2, int(self._device["max_output_channels"])),
                dtype="float32",
                latency=self._in_hand.seconds,
                callback=self._fill,
                finished_callback=lambda: self._finish(number),
            )
            self._stream.start()
        except self._sounddevice.PortAudioError as error:
            raise VoiceLost(f'The sound device "{self.name}" cannot be opened: {error}') from error
        self._wait_until_it_runs()
        self._in_hand.opened(self.underflows, time.monotonic())

    def _wait_until_it_runs(self) -> None:
        until = time.monotonic() + OPENING
        steady = self._blocks + _STEADY
        while self._blocks < steady:
            if time.monotonic() > until:
                give_back(self._stream)
                raise VoiceLost(f'The sound device "{self.name}" takes no sound')
            time.sleep(BLOCK)

    def _fill(self, out: np.ndarray, _: int, times: Any, status: Any) -> None:  # noqa: ANN401 - no types
        """Run by PortAudio: fill `out`, shape [frames, channels]."""
        self._asked_at = time.monotonic()
        self._blocks += 1
        self.underflows += bool(status and status.output_underflow)
        ended, count = self._mixer.fill(out[:, 0])
        if out.shape[1] > 1:
            out[:, 1:] = out[:, :1]
        if self.tap is not None:
            self.tap(out[:, 0], self.rate)
        if self._on_change is not None and self._mixer.sounding is not self._sounding:
            self._sounding = self._mixer.sounding
            self._changes.append((self._asked_at, self._sounding))
            self._ended.put(None)
        if ended is not None:
            heard_in = max(0.0, times.outputBufferDacTime - times.currentTime)
            self._ended.put((self._asked_at + heard_in + count / self.rate, ended))

    def _finish(self, number: int) -> None:
        """Run by PortAudio when a stream stops, also when the device fails."""
        self._finished = number
        self._ended.put(None)

    def _watch(self) -> None:
        """Tell when clips have ended; notice when the device is gone."""
        while not self._closing:
            try:
                entry = self._ended.get(timeout=LOST_AFTER / 4)
            except queue.Empty:
                entry = None
            while self._on_change is not None and self._changes:
                self._on_change(*self._changes.pop(0))
            if entry is not None:
                due, playing = entry
                time.sleep(max(0.0, due - time.monotonic()))
                playing.done()
            elif not self._closing and self._must_open_anew() and not self._is_back():
                return

    def _must_open_anew(self) -> bool:
        """Whether the device is gone, or runs out of sound and is silent just now."""
        if self._fails(LOST_AFTER):
            return True
        now = time.monotonic()
        if not (self._mixer.silent and self._in_hand.open_anew(self.underflows, now)):
            return False
        time.sleep(DYING)
        return True

    def _fails(self, quiet: float) -> bool:
        """Whether the device has ended, or asked for nothing for so many seconds."""
        silent = time.monotonic() - self._asked_at
        return self._finished == self._opening or silent > quiet

    def _is_back(self) -> bool:
        """Open the device anew; False when it is lost."""
        failed = self._fails(DYING / 2)
        give_back(self._stream)
        try:
            if failed:
                self._check()
            self._open()
        except VoiceLost as lost:
            self._lost = VoiceLost(f'The sound device "{self.name}" is gone: {lost}')
            self._on_lost(self._lost)
            return False
        self.reopened += 1
        return True


def _portaudio() -> ModuleType:
    try:
        sounddevice = importlib.import_module("sounddevice")
    except ImportError:
        raise VoiceLost("There is no sound: install it with: pip install sounddevice") from None
    except OSError as error:  # PortAudio itself is not found
        raise VoiceLost(f"{_PORTAUDIO} ({error})") from None
    return sounddevice


def _device(sounddevice: ModuleType, words: str | None) -> dict[str, Any]:
    """The output device with these words in its name."""
    try:
        found: dict[str, Any] = sounddevice.query_devices(words or None, "output")
    except ValueError as error:  # none, or several: the text lists them
        raise VoiceLost(f"{error}\nThe output devices here are: {_names(sounddevice)}") from None
    except sounddevice.PortAudioError:
        raise VoiceLost("There is no sound device here to speak through") from None
    return found


def _names(sounddevice: ModuleType) -> str:
    names = [f'"{d["name"]}"' for d in sounddevice.query_devices() if d["max_output_channels"]]
    return ", ".join(names) or "none"


def _accepted_rate(sounddevice: ModuleType, device: dict[str, Any], rate: int) -> int:
    try:
        sounddevice.check_output_settings(device["index"], samplerate=rate, dtype="float32")
    except (sounddevice.PortAudioError, ValueError):
        return int(device["default_samplerate"])
    return rate
