"""The microphone: 16 kHz mono blocks with the session time they were caught at.

Rule of this file: the callback copies, stamps, puts on a bounded queue and
leaves. Nothing is swallowed: sound that found no place is counted, and a
microphone that went silent as a device is told with MicrophoneLost.
"""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from types import ModuleType
from typing import Any

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.endpoint import RATE
from callout.ear.problems import MicrophoneLost
from callout.ear.sound_input import choose, microphones, sounddevice
from callout.giving_back import give_back

BLOCK_SECONDS = 0.01
QUEUE_SECONDS = 10.0
"""Sound that may wait to be heard (s); what comes later is counted as overflow."""

QUIET = 2.0
"""Seconds without a single block after which the device counts as lost."""

WAKING = 6.0
"""Seconds that its first block may take: a radio headset or a sound server wakes up for it
(common practice, no source)."""

OLDEST = 1.0
"""A device that says its sound is older than this has no clock worth asking (s)."""


class Microphone:
    """One open microphone.

    Args:
        words: words of the device's name, or its number; "" for the system's choice
        now: tells session time (s)
        quiet: seconds without a block after which it counts as lost, once there was one
        queue_seconds: sound that may wait to be read (s)
        sound: the sounddevice module, or what stands in for it

    Fields:
        name: the device as the system names it
        rate: the rate it was opened at (Hz); blocks are 16 kHz whatever it is
        overflows: how often sound was lost because it was not taken in time
    """

    def __init__(
        self,
        words: str = "",
        now: Callable[[], float] = time.monotonic,
        *,
        quiet: float = QUIET,
        queue_seconds: float = QUEUE_SECONDS,
        sound: ModuleType | None = None,
    ) -> None:
        self._sound = sound or sounddevice()
        self._now = now
        self._quiet = quiet
        self._queue: queue.Queue[tuple[Samples, float] | None] = queue.Queue(
            maxsize=round(queue_seconds / BLOCK_SECONDS)
        )
        self.overflows = 0
        self._closing = False
        self._opening = RATE
        device = choose(words, microphones(self._sound))
        self._stream, self.rate, self.name = self._open(device)
        self._convert = _converter(self.rate)
        self._last_block = now()
        self._patience = max(quiet, WAKING)

    def read(self, wait: float = 0.5) -> AudioBlock | None:
        """Return the next block; None if `wait` seconds passed without one.

        Raises MicrophoneLost once the device has stopped or has been quiet for too long.
        """
        try:
            caught = self._queue.get(timeout=wait)
        except queue.Empty:
            self._still_there()
            return None
        if caught is None:
            raise MicrophoneLost(f"The microphone {self.name!r} stopped working.")
        samples, at = caught
        self._last_block = self._now()
        self._patience = self._quiet
        if self._convert is not None:
            samples, at = self._convert(samples, at)
        return AudioBlock(samples, RATE, at)

    def blocks(self) -> Iterator[AudioBlock]:
        """Give blocks as they come, until the microphone is closed.  Raises MicrophoneLost."""
        try:
            while not self._closing:
                block = self.read()
                if block is not None:
                    yield block
        finally:
            self.close()

    def close(self) -> None:
        """Stop listening; never raises, and returns though the device is gone."""
        self._closing = True
        give_back(self._stream)

    def _open(self, device: int | None) -> tuple[Any, int, str]:
        """Open at 16 kHz if the device can do that, at its own rate if not."""
        try:
            about = self._sound.query_devices(device, "input")
            own = round(about["default_samplerate"])
            for rate in dict.fromkeys((RATE, own)):
                with suppress(self._sound.PortAudioError):
                    return self._start(device, rate), rate, str(about["name"])
            stream = self._start(device, own)
        except (self._sound.PortAudioError, ValueError) as problem:
            raise MicrophoneLost(f"The microphone cannot be opened: {problem}.") from problem
        return stream, own, str(about["name"])

    def _start(self, device: int | None, rate: int) -> Any:  # noqa: ANN401 - the library has no types
        self._opening = rate
        stream = self._sound.InputStream(
            samplerate=rate,
            blocksize=round(rate * BLOCK_SECONDS),
            device=device,
            channels=1,
            dtype="float32",
            latency="low",
            callback=self._caught,
            finished_callback=self._finished,
        )
        try:
            stream.start()
        except self._sound.PortAudioError:
            stream.close()
            raise
        return stream

    def _caught(self, frames: Any, count: int, clock: Any, status: Any) -> None:  # noqa: ANN401
        """Copy, stamp, put and leave; runs on the device's own thread."""
        age = clock.currentTime - clock.inputBufferAdcTime
        if not count / self._opening <= age <= OLDEST:
            age = count / self._opening  # sound that has not ended yet cannot be here
        if status.input_overflow:
            self.overflows += 1
        try:
            self._queue.put_nowait((frames[:, 0].copy(), self._now() - age))
        except queue.Full:
            self.overflows += 1

    def _finished(self) -> None:
        """Tell the reader that no block will follow; a full queue ends by being quiet."""
        if not self._closing:
            with suppress(queue.Full):
                self._queue.put_nowait(None)

    def _still_there(self) -> None:
        quiet = self._now() - self._last_block
        if quiet >= self._patience:
            raise MicrophoneLost(
                f"The microphone {self.name!r} has given no sound for {quiet:.0f} seconds."
            )


def _converter(rate: int) -> Callable[[Samples, float], tuple[Samples, float]] | None:
    """Return what turns blocks of another rate into 16 kHz; None if there is nothing to do."""
    if rate == RATE:
        return None
    try:
        import soxr
    except ImportError as problem:
        raise MicrophoneLost(
            f"A microphone that runs at {rate} Hz needs the package soxr; install it with: "
            "pip install soxr"
        ) from problem
    # LQ holds sound back for 6 ms, HQ for 30 ms, and words need no more than LQ.
    stream = soxr.ResampleStream(rate, RATE, 1, dtype="float32", quality="LQ")

    def convert(samples: Samples, at: float) -> tuple[Samples, float]:
        made = np.asarray(stream.resample_chunk(samples), np.float32)
        ends_at = at + len(samples) / rate - stream.delay() / RATE
        return made, ends_at - len(made) / RATE

    return convert
