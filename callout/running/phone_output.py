"""Callout's voice out of a phone's earpiece.

Rule of this file: a thin adapter between the mouth and the phone's stream. A phone that
is out of reach swallows what is said, and the list is parked meanwhile.
"""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

import numpy as np

from callout.audio_block import AudioBlock
from callout.running.outputs import OnlyTones
from callout.running.playback import Playback
from callout.voice.protocol import VoiceLost
from callout.voice.shape import resampled

if TYPE_CHECKING:
    from callout.glance.phone import Phone

ON_THE_WAY = 0.15
"""Seconds from here to the earpiece, about: the guard finds out by itself how late an
echo is, and only wants to know that something sounds."""

LOST_CALL = "Out of contact. The list is parked."
"""What the phone says by itself."""


class ToPhone:
    """Each clip to the phone, behind what still sounds there."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._playback: Playback | None = None
        self._ends_at = 0.0

    def tapped_by(self, playback: Playback) -> None:
        """Let `playback` know what sounds, and when."""
        self._playback = playback

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        """Send the clip, behind the silence that is to be before it."""
        from callout.glance.phone import RATE

        silence = max(0.0, at - max(now, self._ends_at))
        samples = resampled(clip, RATE).samples
        before = np.zeros(round(silence * RATE), np.float32)
        self._phone.play(np.concatenate((before, samples)))
        self._ends_at = at + clip.seconds
        if self._playback is not None and self._phone.there:
            self._playback.lay(clip, at + ON_THE_WAY)

    def cut(self, at: float) -> None:
        """Be silent."""
        self._phone.cut()
        self._ends_at = at

    def close(self, at: float) -> None:
        """Nothing is open."""


def lost_call(phone: Phone, words: OnlyTones) -> None:
    """Give the phone what it says when it is out of reach; made meanwhile, on another thread."""
    from callout.glance.phone import RATE

    def make() -> None:
        try:
            phone.keep(resampled(words.sentence(LOST_CALL), RATE).samples)
        except VoiceLost:
            return  # without a voice it shows it

    threading.Thread(target=make, name="lost call", daemon=True).start()
