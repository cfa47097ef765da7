"""A list read through aloud, to a sound file or the loudspeaker, with its time.

Rule of this file: it joins sentences and voice; nothing is heard and nothing is
written into a logbook.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from callout.audio_block import AudioBlock
from callout.voice.choose import make_voice
from callout.voice.clips import CLIP_RATE, Clips, default_folder
from callout.voice.loudspeaker import Loudspeaker
from callout.voice.track import Track
from callout.writing.preview import Sentence

BETWEEN = 0.5
"""Seconds between two sentences that need no answer."""

Say = Callable[[str], AudioBlock]


@contextmanager
def voice(name: str, folder: Path | None = None) -> Iterator[Say]:
    """A sentence -> its clip, as a session would have it.  Raises VoiceLost."""
    clips = Clips(make_voice(name), folder or default_folder())
    try:
        yield clips.get
    finally:
        clips.close()


def to_file(said: Iterable[Sentence], say: Say, answer: float, path: Path) -> None:
    """Everything one after the other; a timed wait is cut short to the time of an answer."""
    track = Track(path, CLIP_RATE)
    at = 0.0
    try:
        for one in said:
            clip = say(one.text)
            track.lay(clip, at)
            at += seconds(clip) + _pause(one, answer)
    finally:
        track.close(at)


def aloud(said: Iterable[Sentence], say: Say, answer: float, device: str) -> None:
    """The same on a loudspeaker."""
    gone = threading.Event()
    loudspeaker = Loudspeaker(device or None, lambda lost: gone.set())
    try:
        for one in said:
            over = threading.Event()
            clip = say(one.text)
            loudspeaker.play(clip, over.set)
            over.wait(seconds(clip) + 5.0)
            if gone.wait(_pause(one, answer)):
                return
    finally:
        loudspeaker.close()


def seconds(clip: AudioBlock) -> float:
    """How long a clip lasts."""
    return len(clip.samples) / clip.rate


def _pause(one: Sentence, answer: float) -> float:
    return answer if one.asks or one.waits else BETWEEN
