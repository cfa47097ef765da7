"""The keys ear: typed words are a full engine, for a pedal, a keyboard, a test.

Rule of this file: a typed line is judged like a spoken one; only the certainty
is given. Sound is nothing to it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

from callout.audio_block import AudioBlock
from callout.ear.verdict import Guess, Spoken, judge
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar


class KeysEar:
    """Takes typed lines.  `now` tells session time (s); a line has no duration."""

    name = "keys"
    rate = 16_000

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._grammar = Grammar(0)

    def listen_for(self, grammar: Grammar) -> None:
        """From the next line on, this is what counts."""
        self._grammar = grammar

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        """Take one line; nothing comes of an empty one, or of sound."""
        if not isinstance(sound, str) or not sound.strip():
            return ()
        now = self._now()
        return (judge(Guess(sound, 1.0), self._grammar, Spoken(now, now, self.name)),)

    def close(self) -> None:
        """Nothing to give back."""
