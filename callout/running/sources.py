"""Where a live session's sound comes from.

Rule of this file: sound in real time only; what a source gives carries session time.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from callout.audio_block import AudioBlock
from callout.ear.capture import Microphone
from callout.ear.from_file import blocks as file_blocks
from callout.ear.problems import MicrophoneLost
from callout.running.clock import SessionClock
from callout.running.settings import Device, Phone
from callout.running.trying import Trying

Source = Callable[[], Iterator[AudioBlock | None]]
"""Opens the sound; called again when it ended or failed."""


def source(listen: Device | Path | Phone, clock: SessionClock) -> Source:
    """Give a microphone's sound, opened anew each time, or a recording's, once.

    From the second time on a child process opens the microphone first: opening a
    device that is just going away can end the process (PortAudio 19.6 asserts).
    """
    if isinstance(listen, Phone):
        raise MicrophoneLost("A phone can listen in `callout run` only, with --glance.")
    if isinstance(listen, Path):
        recording = _paced(file_blocks(listen), clock)
        return lambda: recording
    opened = itertools.count()
    return lambda: _caught(listen.words, clock, again=next(opened) > 0)


def check(part: str, words: str) -> str:
    """Open a device in a child process; what is wrong with it, "" if nothing."""
    return str(Trying()(part, words).get("wrong", ""))


def _caught(words: str, clock: SessionClock, again: bool) -> Iterator[AudioBlock | None]:
    """What a microphone gives; None now and then, so that a listener can stop."""
    if again and (wrong := check("microphone", words)):
        raise MicrophoneLost(wrong)
    microphone = Microphone(words, now=clock.now)
    try:
        while True:
            yield microphone.read()
    finally:
        microphone.close()


def _paced(blocks: Iterator[AudioBlock], clock: SessionClock) -> Iterator[AudioBlock]:
    """A recording as if it were heard now."""
    began = clock.now()
    for block in blocks:
        moved = AudioBlock(block.samples, block.rate, began + block.captured_at)
        time.sleep(max(0.0, moved.ends_at - clock.now()))
        yield moved
