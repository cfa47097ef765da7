"""One voice at a time, block by block: what the sound card's callback runs.

Rule of this file: `fill` runs in the audio callback, so it copies and leaves:
no lock, no file, no waiting, nothing that grows. Other threads change what is
said by replacing one attribute, which is atomic; whoever comes last is heard.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from callout.audio_block import Samples

CUT_FADE = 0.005
"""Seconds over which a cut sound dies away; always within the next block."""


@dataclass(eq=False, slots=True)
class Playing:
    """A clip on its way out.

    Fields:
        samples: what sounds, at the mixer's rate
        done: to be told when the last sample is out; not told when the clip is cut
        position: how many samples went out (written by the callback alone)
        then: what follows when this has ended (a chain hangs on its first clip, so that
            whoever replaces the first one stops them all)
    """

    samples: Samples
    done: Callable[[], None]
    position: int = 0
    then: Playing | None = None

    @property
    def over(self) -> bool:
        """Whether every sample is out."""
        return self.position >= len(self.samples)


class Mixer:
    """What is being said, at `rate` Hz."""

    def __init__(self, rate: int) -> None:
        self._fade = round(CUT_FADE * rate)
        self._wanted: Playing | None = None  # first of a chain; written by callers
        self._first: Playing | None = None  # the chain being said; written by the callback alone
        self._now: Playing | None = None  # the clip of it being said; likewise

    @property
    def sounding(self) -> Playing | None:
        """The clip that the last block was made from; None for silence."""
        return self._now

    @property
    def silent(self) -> bool:
        """Whether nothing sounds and nothing is to."""
        wanted, now = self._wanted, self._now
        return wanted is self._first and (now is None or (now.over and now.then is None))

    def play(self, playing: Playing) -> None:
        """From the next block on say this; what is being said is cut."""
        self._wanted = playing

    def follow(self, playing: Playing) -> None:
        """Say this when what is being said has ended (at once if nothing is).

        Only one thread may call `play`, `follow` and `stop` at a time.
        """
        last = self._wanted
        while last is not None and last.then is not None:
            last = last.then
        if last is None or last.over:
            self._wanted = playing
        else:
            last.then = playing

    def stop(self) -> None:
        """From the next block on say nothing."""
        self._wanted = None

    def fill(self, block: Samples) -> tuple[Playing | None, int]:
        """Fill the block, shape [n]; what ended in it (or None) and after how many samples."""
        block[:] = 0.0
        wanted = self._wanted
        if wanted is not self._first:
            self._let_die(block)
            self._first = self._now = wanted
        if self._now is not None and self._now.over and self._now.then is not None:
            self._now = self._now.then
        playing = self._now
        if playing is None or playing.over:
            return None, 0
        chunk = playing.samples[playing.position : playing.position + len(block)]
        block[: len(chunk)] += chunk
        playing.position += len(chunk)
        return (playing if playing.over else None), len(chunk)

    def _let_die(self, block: Samples) -> None:
        """Put the fading rest of what was being said into the block."""
        old = self._now
        if old is None:
            return
        n = min(self._fade, len(block), len(old.samples) - old.position)
        if n > 0:
            ramp = 0.5 + 0.5 * np.cos(np.pi * (np.arange(n, dtype=np.float32) + 0.5) / n)
            block[:n] = old.samples[old.position : old.position + n] * ramp
