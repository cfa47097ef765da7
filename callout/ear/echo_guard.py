"""An ear that is fed while callout speaks from a loudspeaker: its own voice is no answer.

Rule of this file: it joins the parts (echo*.py) and keeps sample numbers. In doubt
nothing was heard: a word that is lost is said again, a word of callout's own that
is taken for an answer is not noticed.

While callout sounds, and until its echo has died away, the ear gets what is left
when the echo is taken out, and that only where somebody is near; else near
silence. What it then understands needs evidence that a person said it, and of the
rest nothing is said. At all other times the sound goes straight through.

All of this needs a filter that is trusted, and that shows so again in each call.
Where it is not (at the beginning, where the clocks have just moved, or as long as
it leaves too much) a gate is shut instead: the ear gets silence, and nothing counts
that began before the gate was open again. Who spoke after the call had ended, but
so soon that it cannot count, is told that he was not understood.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

import numpy as np

from callout.audio_block import AudioBlock, Samples
from callout.ear.echo import BLOCK, FRONT_AT, PARTS, EchoFilter, Split
from callout.ear.echo_belief import Belief, Played, too_soon
from callout.ear.echo_gate import JOINED, OPENS, Gates, Knocking
from callout.ear.echo_lag import Lag
from callout.ear.echo_near import PROOF, Nearness
from callout.ear.echo_way import Way
from callout.ear.protocol import Ear
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar

RATE = 16_000
EARLIER = 320
"""A microphone may say that its sound is so many samples older than it is. 80 ms let the
beginnings of calls through."""
BEHIND = 800
"""What sounded may be told so many samples late: the loudspeaker's thread comes when it can."""
GAP = 0.15
"""A block that comes so much (s) off its place begins a new count of samples."""
WAITS, GOES_ON = 5, 8
"""The ear gets a block when it is known whether somebody is near up to so many blocks later;
and so many blocks after the last in which somebody was."""
ALONE = 0.03
"""What the ear gets of a block in which nobody is near."""
TAIL = PARTS * BLOCK - FRONT_AT
"""What sounded may be heard for so many samples longer than its way."""
ROOM = round(0.3 * RATE)
"""The same behind a gate; most of it is over after FADED, and who speaks then is noticed."""
FADED = round(0.04 * RATE)
UNSURE = round(1.2 * RATE)
"""The same as long as nobody knows how late the echo comes."""
SILENCE = 1e-3
"""What the ear gets through a gate that is shut; zeros are no room."""
SOUNDS = 1e-4
"""Known sound below this peak is silence."""
LOUD = 0.03
"""Known sound above this peak is speech, not its pauses."""
MOVED_DOUBT = 0.1
"""Share of the room's answer that may be off when its front is found elsewhere than before."""


class OwnVoiceGuard:
    """An ear that does not hear callout; an Ear itself."""

    def __init__(self, ear: Ear, played: Played) -> None:
        self.name, self.rate = ear.name, ear.rate
        self._ear = ear
        self._played = played
        self._filter = EchoFilter()
        self._near = Nearness()
        self._way = Way()
        self._gates = Gates()
        self._belief = Belief(self._near, self._gates, played)
        self._knocking = Knocking()
        self._serial = 0
        self._lag = Lag()
        self._late: int | None = None  # samples until the echo's front comes
        self._until = -1  # number of the sample from which on nothing of callout is heard
        self._start_over(0.0)
        self._counts = False  # whether `_next` belongs to a block that came

    def listen_for(self, grammar: Grammar) -> None:
        """From the next sound on, this is what counts."""
        self._serial = grammar.serial
        self._ear.listen_for(grammar)

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        """Take the next block; return what was understood and is not callout's own voice."""
        if isinstance(sound, str):
            return self._ear.hear(sound)
        events: list[Heard | NotUnderstood] = []
        if not self._counts or abs(sound.captured_at - self._next / RATE) > GAP:
            events += self._let_go(self._next)
            self._start_over(sound.captured_at)
        count = len(sound.samples)
        if self._is_loud(self._next, count):
            if self._next > self._until:
                self._near.prove()
                self._lag.begin()
                self._shut = True
            self._until = self._next + count + self._tail()
        self._find_way(sound.samples)
        self._next += count
        if self._next <= self._until:
            events += self._sounding(sound.samples)
        else:
            events += self._let_go(self._next - count)
            self._quiet(sound.samples)
            events += self._ear.hear(sound)
        believed = [one for event in events for one in self._believed(event)]
        return believed or self._knocked()

    def close(self) -> None:
        """Give back what the ear holds."""
        self._ear.close()

    @property
    def _way_is_known(self) -> bool:
        return self._way.sure or self._late is not None

    def _start_over(self, at: float) -> None:
        """Count samples anew from session time `at` (s)."""
        self._counts = True
        self._next = round(at * RATE)
        self._until = -1
        self._sounded_until = -1  # number of the sample after its last sound
        self._shut = True  # whether the ear gets silence while callout is heard
        self._waiting: Samples = np.zeros(0, np.float32)
        self._noise: Samples = np.zeros(0, np.float32)
        self._held: deque[tuple[int, Samples]] = deque()
        self._nears: deque[int] = deque(maxlen=WAITS + GOES_ON + 2)
        self._beside: tuple[Samples, Samples] = (self._noise, self._noise)
        self._filter.pause()
        self._way.doubt()
        self._lag = Lag()
        self._late = None
        self._knocking.start_over()
        if self._sounded(self._next - UNSURE, UNSURE):
            self._until = self._next + UNSURE

    def _trusts_filter(self) -> bool:
        """Whether the filter is trusted in this call, and reaches all of the echo.

        Without a front there may be none: a call in which nothing was heard for longer
        than an echo is supposed to take shows that.
        """
        supposed = self._way.late or 0
        reaches = self._late is not None or max(self._near.runs) >= supposed + PROOF
        return self._near.trusts and self._way_is_known and reaches

    def _tail(self) -> int:
        """For how many samples longer what sounds may be heard."""
        if not self._way_is_known:
            return UNSURE
        return (ROOM if self._shut else TAIL) + self._found_late()

    def _found_late(self) -> int:
        if self._late is not None:
            return max(0, self._late)
        return max(0, (self._way.late or 0) * BLOCK - BEHIND)

    def _is_loud(self, first: int, count: int) -> bool:
        """Whether callout sounds while these samples are caught, or a little later."""
        loud = self._sounded(first - BEHIND, BEHIND + count + EARLIER)
        if loud:
            self._sounded_until = first + count
            self._knocking.start_over()
        return loud

    def _sounded(self, first: int, count: int) -> bool:
        known = self._played.sound(first, count)
        return float(np.abs(known).max(initial=0.0)) >= SOUNDS

    def _find_way(self, samples: Samples) -> None:
        """Let what was caught be compared with what sounded: loudness by blocks, and fronts."""
        known = self._played.sound(self._next - BEHIND, len(samples))
        if self._next <= self._until and self._lag.take(known, samples):
            self._aim((self._lag.late or 0) + BEHIND)
        both = (known, samples)
        known, caught = (np.concatenate(two) for two in zip(self._beside, both, strict=True))
        while len(known) >= BLOCK:
            self._way.take(known[:BLOCK], caught[:BLOCK])
            known, caught = known[BLOCK:], caught[BLOCK:]
        self._beside = (known, caught)

    def _aim(self, late: int) -> None:
        """The echo's front comes so many samples late: the filter has to show itself anew."""
        first_time, self._late = self._late is None, late
        end = self._next - len(self._waiting) + self._ahead()
        history = self._played.sound(end - (PARTS + 1) * BLOCK, (PARTS + 1) * BLOCK)
        doubt = self._lag.power * (1.0 if first_time else MOVED_DOUBT)
        self._filter.aim(history, doubt, keeps=not first_time)
        if first_time:
            self._near.begin()
        self._near.prove()
        self._shut = True

    def _ahead(self) -> int:
        """So many samples after what was caught, known sound is taken for what may have come."""
        return EARLIER if self._late is None else min(EARLIER, FRONT_AT - self._late)

    def _quiet(self, samples: Samples) -> None:
        """Learn the noise of the place, a block at a time however short the pieces are."""
        self._noise = np.concatenate([self._noise, samples])
        if len(self._noise) >= BLOCK:
            self._near.quiet(self._noise[:BLOCK])
            just_open = self._shut and self._next < self._until + round(OPENS * RATE)
            self._knocking.outside(self._noise[:BLOCK], self._next / RATE, counts=just_open)
            self._noise = self._noise[:0]

    def _sounding(self, samples: Samples) -> list[Heard | NotUnderstood]:
        """Take out the echo, block by block; let the ear hear what is old enough."""
        self._waiting = np.concatenate([self._waiting, samples])
        ahead = self._ahead()
        while len(self._waiting) >= BLOCK + max(0, ahead + BEHIND):
            first = self._next - len(self._waiting)
            caught, self._waiting = self._waiting[:BLOCK], self._waiting[BLOCK:]
            self._split(first, caught, self._played.sound(first + ahead, BLOCK))
        events: list[Heard | NotUnderstood] = []
        while len(self._held) > WAITS + 1:
            events += self._let_hear(*self._held.popleft())
        return events

    def _split(self, first: int, caught: Samples, known: Samples) -> None:
        """Take the echo out of a block, and see who is near."""
        aimed = self._late is not None  # a filter that nobody aimed takes noise for an echo
        split = self._filter.split(caught, known) if aimed else Split(caught, np.zeros_like(caught))
        number = first // BLOCK
        self._near.take(number, split, float(np.abs(known).max()) >= LOUD)
        self._belief.remember(number, known, split.rest)
        if self._near.is_near(number - 1):
            self._nears.append(number - 1)
        self._held.append((first, split.rest))
        self._shut = not self._trusts_filter()
        self._listen_behind(first, caught)

    def _listen_behind(self, first: int, caught: Samples) -> None:
        """Who speaks behind a gate that is shut is noticed, once most of the echo is over."""
        if self._shut and first >= self._sounded_until + self._found_late() + FADED:
            self._knocking.take(caught, first / RATE)

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
        self._gates.shut(first / RATE, (first + len(rest)) / RATE)
        return self._ear.hear(AudioBlock(rest * np.float32(SILENCE), RATE, first / RATE))

    def _let_go(self, until: int) -> list[Heard | NotUnderstood]:
        """Nothing of callout is heard any more: the ear gets all that was held back."""
        events: list[Heard | NotUnderstood] = []
        if self._held or len(self._waiting):
            while self._held:
                events += self._let_hear(*self._held.popleft())
            first = until - len(self._waiting)
            if self._shut:
                for at in range(0, len(self._waiting) - BLOCK + 1, BLOCK):
                    self._listen_behind(first + at, self._waiting[at : at + BLOCK])
                events += self._hear_nothing(self._waiting, first)
            else:
                events += self._ear.hear(AudioBlock(self._waiting, RATE, first / RATE))
            self._waiting = self._waiting[:0]
            self._filter.pause()
        return events

    def _believed(self, event: Heard | NotUnderstood) -> Sequence[Heard | NotUnderstood]:
        """What a person said and all of it could be heard; who is not believed may be asked."""
        known = self._way_is_known
        if known and self._knocking.goes_on(event.began):
            self._knocking.ended = max(self._knocking.ended, event.ended)
            return []
        if self._belief.is_person(event, way_is_known=known):
            return [event]
        over = (self._sounded_until + self._found_late() + FADED) / RATE
        after = event.began + event.ended >= 2 * over  # most of it
        if known and after and self._belief.somebody_spoke(event):
            return [too_soon(event.began, event.ended, self._serial, self.name)]
        return []

    def _knocked(self) -> list[Heard | NotUnderstood]:
        """Who spoke behind the gate after a call is told so, once he is silent."""
        knock = self._knocking
        over = self._next > self._until and self._next / RATE > knock.ended + JOINED
        if not (knock.somebody and over and self._way_is_known):
            return []
        knock.start_over()
        return [too_soon(knock.began, knock.ended, self._serial, self.name)]
