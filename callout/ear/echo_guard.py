"""An ear that is fed while callout speaks from a loudspeaker: its own voice is no answer.

Rule of this file: it joins the parts and keeps sample numbers; what an echo is
stands in echo.py, whether somebody is near in echo_near.py, words in
echo_words.py. In doubt nothing was heard: a word that is lost is said again, a
word of callout's own that is taken for an answer is not noticed.

While callout sounds, and 0.4 s longer, the ear gets what is left when the echo
is taken out, and that only where somebody is near; else near silence. What it
then understands needs evidence that somebody was near, and more evidence when
it sounds like words of the sentence being said. At all other times the sound
goes straight through.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import Protocol

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.echo import BLOCK, PARTS, EchoFilter
from callout.ear.echo_near import Nearness
from callout.ear.echo_words import sounds_like_part
from callout.ear.protocol import Ear
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar

RATE = 16_000
EARLIER = 320
"""Known sound is asked for so many samples ahead, and blocks are held back as long: a microphone
may say that its sound is older than it is. 80 ms let the beginnings of calls through."""
GAP = 0.15
"""A block that comes so much (s) off its place begins a new count of samples."""
WAITS, GOES_ON = 5, 8
"""The ear gets a block when it is known whether somebody is near up to so many blocks later;
and so many blocks after the last in which somebody was."""
ALONE = 0.03
"""What the ear gets of a block in which nobody is near."""
TAIL = PARTS * BLOCK
"""What sounded may be heard for so many samples longer."""
SOUNDS = 1e-4
"""Known sound below this peak is silence."""
LOUD = 0.03
"""Known sound above this peak is speech, not its pauses."""
BESIDE = 0
"""Utterances with so few blocks of callout's voice in them are not doubted."""
SHARE, LIKENESS = 0.6, 0.5
"""Evidence asked of every word: somebody near in so much of it, and no more like the echo."""
MORE_SHARE, LESS_LIKENESS = 0.75, 0.4
"""The same for what sounds like callout's own words, and for what was not understood."""
LINGERS = 0.6
"""Words said up to so many seconds before an utterance may be what was heard."""


class Played(Protocol):
    """What callout lets sound, by session time in samples at 16 kHz."""

    def sound(self, first: int, count: int) -> Samples:
        """The samples from number `first` on, shape [count]; silence where nothing sounded."""

    def said(self, began: float, ended: float) -> Sequence[str]:
        """The sentences of which something sounded between two session times (s)."""


class OwnVoiceGuard:
    """An ear that does not hear callout; an Ear itself."""

    def __init__(self, ear: Ear, played: Played) -> None:
        self.name, self.rate = ear.name, ear.rate
        self._ear = ear
        self._played = played
        self._filter = EchoFilter()
        self._near = Nearness()
        self._start_over(0.0)

    def listen_for(self, grammar: Grammar) -> None:
        """From the next sound on, this is what counts."""
        self._ear.listen_for(grammar)

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        """Take the next block; return what was understood and is not callout's own voice."""
        if isinstance(sound, str):
            return self._ear.hear(sound)
        events: list[Heard | NotUnderstood] = []
        if abs(sound.captured_at - self._next / RATE) > GAP:
            events += self._let_go(self._next)
            self._start_over(sound.captured_at)
        count = len(sound.samples)
        if self._is_loud(self._next, count):
            self._until = self._next + count + TAIL
        self._next += count
        if self._next <= self._until:
            events += self._sounding(sound.samples)
        else:
            events += self._let_go(self._next - count)
            self._quiet(sound.samples)
            events += self._ear.hear(sound)
        return [event for event in events if self._is_believed(event)]

    def close(self) -> None:
        """Give back what the ear holds."""
        self._ear.close()

    def _start_over(self, at: float) -> None:
        """Count samples anew from session time `at` (s)."""
        self._next = round(at * RATE)
        self._until = -1  # number of the sample from which on nothing of callout is heard
        self._waiting: Samples = np.zeros(0, np.float32)
        self._noise: Samples = np.zeros(0, np.float32)
        self._held: deque[tuple[int, Samples]] = deque()
        self._nears: deque[int] = deque(maxlen=WAITS + GOES_ON + 2)
        self._filter.pause()

    def _is_loud(self, first: int, count: int) -> bool:
        """Whether callout sounds while these samples are caught, or a little later."""
        known = self._played.sound(first, count + EARLIER)
        return float(np.abs(known).max(initial=0.0)) >= SOUNDS

    def _quiet(self, samples: Samples) -> None:
        """Learn the noise of the place, a block at a time however short the pieces are."""
        self._noise = np.concatenate([self._noise, samples])
        if len(self._noise) >= BLOCK:
            self._near.quiet(self._noise[:BLOCK])
            self._noise = self._noise[:0]

    def _sounding(self, samples: Samples) -> list[Heard | NotUnderstood]:
        """Take out the echo, block by block; let the ear hear what is old enough."""
        self._waiting = np.concatenate([self._waiting, samples])
        while len(self._waiting) >= BLOCK + EARLIER:
            first = self._next - len(self._waiting)
            caught, self._waiting = self._waiting[:BLOCK], self._waiting[BLOCK:]
            known = self._played.sound(first + EARLIER, BLOCK)
            split = self._filter.split(caught, known)
            number = first // BLOCK
            loud = float(np.abs(known).max()) >= LOUD
            self._near.take(number, split, loud)
            if self._near.is_near(number - 1):
                self._nears.append(number - 1)
            self._held.append((first, split.rest))
        events: list[Heard | NotUnderstood] = []
        while len(self._held) > WAITS + 1:
            events += self._let_hear(*self._held.popleft())
        return events

    def _let_hear(self, first: int, rest: Samples) -> Sequence[Heard | NotUnderstood]:
        """The ear gets a block as it is where somebody is near, else next to nothing."""
        number = first // BLOCK
        near = any(number - GOES_ON <= at <= number + WAITS for at in self._nears)
        samples = rest if near else (rest * np.float32(ALONE))
        return self._ear.hear(AudioBlock(samples, RATE, first / RATE))

    def _let_go(self, until: int) -> list[Heard | NotUnderstood]:
        """Nothing of callout is heard any more: the ear gets all that was held back."""
        events: list[Heard | NotUnderstood] = []
        if self._held or len(self._waiting):
            while self._held:
                events += self._let_hear(*self._held.popleft())
            first = until - len(self._waiting)
            events += self._ear.hear(AudioBlock(self._waiting, RATE, first / RATE))
            self._waiting = self._waiting[:0]
            self._filter.pause()
        return events

    def _is_believed(self, event: Heard | NotUnderstood) -> bool:
        """Whether there is evidence enough that a person said it."""
        first, last = (int(at * RATE) // BLOCK for at in (event.began, event.ended))
        evidence = self._near.evidence(first, last)
        if evidence.blocks <= BESIDE:
            return True
        text = event.text if isinstance(event, Heard) else event.guess
        said = self._played.said(event.began - LINGERS, event.ended)
        more = isinstance(event, NotUnderstood) or any(sounds_like_part(text, one) for one in said)
        share, likeness = (MORE_SHARE, LESS_LIKENESS) if more else (SHARE, LIKENESS)
        return evidence.share >= share and evidence.likeness <= likeness
