"""The face that every ear shows: grammar in, sound in, events out.

Rule of this file: no engine is named here. An ear is fed on one thread; it
never blocks for longer than decoding one block takes and never calls back.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from callout.audio_block import AudioBlock
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar


class Ear(Protocol):
    """One recogniser.

    Fields:
        name: "pocketsphinx", "vosk", "keys" ...
        rate: sample rate it wants (Hz); the caller resamples
    """

    name: str
    rate: int

    def listen_for(self, grammar: Grammar) -> None:
        """From the next sound on, this is what counts."""

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        """Take the next block (or, for the keys ear, a typed line); return what was understood."""

    def close(self) -> None:
        """Give back models and memory."""
