"""An ear that is fed while callout speaks from a loudspeaker: its own voice is no answer.

Rule of this file: it joins the parts and keeps sample numbers; what an echo is
stands in echo.py, whether somebody is near in echo_near.py, words in
echo_words.py. In doubt nothing was heard: a word that is lost is said again, a
word of callout's own that is taken for an answer is not noticed.

While callout sounds, and 0.5 s longer (or as late as its echo was found to be:
echo_way.py), the ear gets what is left when the echo is taken out, and that only
where somebody is near; else near silence. What it then understands needs evidence
that somebody was near, and more evidence when it sounds like words of the
sentence being said; what it does not understand is not spoken of. At all other
times the sound goes straight through.

All of this needs a filter that is trusted when callout begins to sound. Where it
is not (at the beginning, after a jump of the clocks, with an echo that is later
than it reaches, or as long as it leaves too much) a gate is shut instead: the ear
gets silence, and nothing counts that began before the gate was open again.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import Protocol

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.echo import BLOCK, PARTS, EchoFilter
from callout.ear.echo_near import Nearness
from callout.ear.echo_way import Way
from callout.ear.echo_words import sounds_like_part
from callout.ear.protocol import Ear
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar

RATE = 16_000
EARLIER = 320
"""Known sound is asked for so many samples ahead, and blocks are held back as long: a microphone
may say that its sound is older than it is. 80 ms let the beginnings of calls through."""
BEHIND = 800
"""What sounded may be told so many samples late: the loudspeaker's thread comes when it can."""
GAP = 0.15
"""A block that comes so much (s) off its place begins a new count of samples."""
WAITS, GOES_ON = 5, 8
"""The ear gets a block when it is known whether somebody is near up to so many blocks later;
and so many blocks after the last in which somebody was."""
ALONE = 0.03
"""What the ear gets of a block in which nobody is near."""
REACHES = 16
"""An echo that is so many blocks late (320 ms) leaves the filter too little of the room."""
TAIL = PARTS * BLOCK
"""What sounded may be heard for so many samples longer."""
ROOM = round(0.3 * RATE)
"""The same behind a gate, beyond the way that the echo was found to take."""
UNSURE = round(1.2 * RATE)
"""The same as long as nobody knows how late the echo comes."""
LATER = 6.0
"""So many seconds later its own words, and what was not understood, are still doubted then."""
SILENCE = 1e-3
"""What the ear gets through a gate that is shut; zeros are no room."""
OPENS = 0.15
"""What begins so soon (s) after the gate was opened may have lost its beginning: "one five" that
is heard as "five" would be a wrong value."""
GATES = 32
"""So many times that the gate was shut are remembered."""
SOUNDS = 1e-4
"""Known sound below this peak is silence."""
LOUD = 0.03
"""Known sound above this peak is speech, not its pauses."""
BESIDE = 0
"""Utterances with so few blocks of callout's voice in them are not doubted."""
SHARE, LIKENESS = 0.6, 0.5
"""Evidence asked of every word: somebody near in so much of it, and no more like the echo."""
MORE_SHARE, LESS_LIKENESS = 0.75, 0.4
"""The same for what sounds like callout's own words."""
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
        self._way = Way()
        self._gates: deque[tuple[float, float]] = deque(maxlen=GATES)
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
            self._begin_or_go_on()
            self._until = self._next + count + self._tail()
        self._find_way(sound.samples)
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
        self._shut = True  # whether the ear gets silence while callout is heard
        self._waiting: Samples = np.zeros(0, np.float32)
        self._noise: Samples = np.zeros(0, np.float32)
        self._held: deque[tuple[int, Samples]] = deque()
        self._nears: deque[int] = deque(maxlen=WAITS + GOES_ON + 2)
        self._beside: tuple[Samples, Samples] = (self._noise, self._noise)
        self._filter.pause()
        self._way.doubt()
        if self._sounded(self._next - UNSURE, UNSURE):
            self._until = self._next + UNSURE

    def _begin_or_go_on(self) -> None:
        """Callout sounds: the gate is shut unless the filter is trusted, now and to the end."""
        begins = self._next > self._until
        trusted = (
            self._near.trusts
            and self._way.sure
            and (self._way.late or 0) < REACHES + BEHIND // BLOCK
        )
        self._shut = not trusted or (self._shut and not begins)

    def _tail(self) -> int:
        """For how many samples longer what sounds may be heard."""
        if not self._way.sure:
            return UNSURE
        late = max(0, (self._way.late or 0) * BLOCK - BEHIND)
        return ROOM + late if self._shut else TAIL

    def _is_loud(self, first: int, count: int) -> bool:
        """Whether callout sounds while these samples are caught, or a little later."""
        return self._sounded(first - BEHIND, BEHIND + count + EARLIER)

    def _sounded(self, first: int, count: int) -> bool:
        known = self._played.sound(first, count)
        return float(np.abs(known).max(initial=0.0)) >= SOUNDS

    def _find_way(self, samples: Samples) -> None:
        """Let what was caught be compared with what sounded, a block at a time."""
        known = self._played.sound(self._next - BEHIND, len(samples))
        both = (known, samples)
        known, caught = (np.concatenate(two) for two in zip(self._beside, both, strict=True))
        while len(known) >= BLOCK:
            self._way.take(known[:BLOCK], caught[:BLOCK])
            known, caught = known[BLOCK:], caught[BLOCK:]
        self._beside = (known, caught)

    def _quiet(self, samples: Samples) -> None:
        """Learn the noise of the place, a block at a time however short the pieces are."""
        self._noise = np.concatenate([self._noise, samples])
        if len(self._noise) >= BLOCK:
            self._near.quiet(self._noise[:BLOCK])
            self._noise = self._noise[:0]

    def _sounding(self, samples: Samples) -> list[Heard | NotUnderstood]:
        """Take out the echo, block by block; let the ear hear what is old enough."""
        self._waiting = np.concatenate([self._waiting, samples])
        while len(self._waiting) >= BLOCK + EARLIER + BEHIND:
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
        if self._shut:
            return self._hear_nothing(rest, first)
        number = first // BLOCK
        near = any(number - GOES_ON <= at <= number + WAITS for at in self._nears)
        samples = rest if near else (rest * np.float32(ALONE))
        return self._ear.hear(AudioBlock(samples, RATE, first / RATE))

    def _hear_nothing(self, rest: Samples, first: int) -> Sequence[Heard | NotUnderstood]:
        """Next to silence, and remembered as that."""
        begin, end = first / RATE, (first + len(rest)) / RATE
        if self._gates and abs(self._gates[-1][1] - begin) < OPENS:
            begin = self._gates.pop()[0]
        self._gates.append((begin, end))
        return self._ear.hear(AudioBlock(rest * np.float32(SILENCE), RATE, first / RATE))

    def _let_go(self, until: int) -> list[Heard | NotUnderstood]:
        """Nothing of callout is heard any more: the ear gets all that was held back."""
        events: list[Heard | NotUnderstood] = []
        if self._held or len(self._waiting):
            while self._held:
                events += self._let_hear(*self._held.popleft())
            first = until - len(self._waiting)
            if self._shut:
                events += self._hear_nothing(self._waiting, first)
            else:
                events += self._ear.hear(AudioBlock(self._waiting, RATE, first / RATE))
            self._waiting = self._waiting[:0]
            self._filter.pause()
        return events

    def _is_gated(self, event: Heard | NotUnderstood, longer: float) -> bool:
        """Whether any of it was said while the gate was shut, or up to so much (s) later."""
        return any(begin < event.ended and event.began < end + longer for begin, end in self._gates)

    def _may_be_late(self, event: Heard | NotUnderstood) -> bool:
        """Whether it may be callout's voice that comes later than anybody knows yet."""
        if isinstance(event, NotUnderstood):
            return self._is_gated(event, LATER)
        said = self._played.said(event.began - LATER, event.ended)
        return any(sounds_like_part(event.text, one) for one in said)

    def _is_believed(self, event: Heard | NotUnderstood) -> bool:
        """Whether there is evidence enough that a person said it."""
        if self._is_gated(event, OPENS) or (not self._way.sure and self._may_be_late(event)):
            return False
        first, last = (int(at * RATE) // BLOCK for at in (event.began, event.ended))
        evidence = self._near.evidence(first, last)
        if evidence.blocks <= BESIDE:
            return True
        if isinstance(event, NotUnderstood):
            return False
        said = self._played.said(event.began - LINGERS, event.ended)
        more = any(sounds_like_part(event.text, one) for one in said)
        share, likeness = (MORE_SHARE, LESS_LIKENESS) if more else (SHARE, LIKENESS)
        return evidence.share >= share and evidence.likeness <= likeness
