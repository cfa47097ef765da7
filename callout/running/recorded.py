"""A session in recording time: as fast as the machine can, and the same every time.

Rule of this file: time is the recording's own position. Killed and started
again, a session in recording time is taken up where its last utterance ended;
what was logged after that comes out again and is checked, not written twice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain

from callout.audio_block import AudioBlock
from callout.ear.protocol import Ear
from callout.engine.events import (
    Clock,
    Event,
    Heard,
    Lost,
    NotUnderstood,
    SpeechEnded,
    Stopped,
)
from callout.running.clock import RecordingClock
from callout.running.conductor import Conductor
from callout.running.feeding import Feed, NoFeed
from callout.running.problems import LogDiffersError

LISTEN_BACK = 6.0
"""Seconds before the point of taking up that the ear hears again."""

TAIL = 180.0
"""Seconds that time goes on after a recording's end, for waits that still run."""


@dataclass
class Recorded:
    """One run over a recording.

    Fields:
        blocks: the recording from session time 0, in order
        past: events logged by an earlier run, with their times
        lost: why the voice stopped working, if it did; filled while it runs
        feed: readings that were recorded along with the sound
    """

    conductor: Conductor
    clock: RecordingClock
    ear: Ear
    blocks: Iterable[AudioBlock]
    past: list[tuple[float, Event]]
    lost: list[str]
    feed: Feed = field(default_factory=NoFeed)

    def run(self, first: Event) -> None:
        """Run to the session's end, or to the recording's and TAIL beyond it."""
        replayed = _through_last_utterance(self.past)
        at, taken_up = replayed[-1][0] if replayed else 0.0, _ended(replayed)
        if replayed:
            self._take_up(replayed)
        else:
            self._happen(first)
        for block in self._listened_until(at):
            self._until(block.ends_at)
            if self.conductor.session.ended:
                break
            self._keep(block)
            for event in self.ear.hear(block):
                if event.began >= taken_up:
                    self._heard(event)
        self._finish()

    def _listened_until(self, time: float) -> Iterator[AudioBlock]:
        """The blocks after `time`.

        The ear takes the last of those before with nothing to listen for, so that
        its notion of the background is what it was.
        """
        blocks = iter(self.blocks)
        for block in blocks:
            if block.ends_at > time:
                return chain([block], blocks)
            self._keep(block)
            if block.ends_at > time - LISTEN_BACK:
                self.ear.hear(block)
        return blocks

    def _keep(self, block: AudioBlock) -> None:
        """Sound that belongs to a recording is written as it comes."""
        if self.conductor.kept is not None:
            self.conductor.kept.keeper.hear(block)
            self.conductor.keep()

    def _take_up(self, replayed: list[tuple[float, Event]]) -> None:
        """Go through what was logged up to the last utterance."""
        for at, event in replayed:
            self.clock.move(max(at, self.clock.now()))
            self._let_speech_end(at)
            self._again(at, event)
        del self.past[: len(replayed)]
        self.feed.skip(replayed[-1][0])

    def _let_speech_end(self, at: float) -> None:
        """In replay the logged SpeechEnded is what happens; the mouth only keeps in step."""
        while self.conductor.mouth.over(at) is not None:
            pass

    def _until(self, time: float) -> None:
        """All that is due before `time`, each at its own moment."""
        while not self.conductor.session.ended:
            due, comes = self.conductor.next_due(), self.feed.next_at()
            if comes is not None and comes <= min(time, time if due is None else due):
                self.clock.move(max(comes, self.clock.now()))
                self._take_readings()
                continue
            if due is None or due > time:
                break
            self.clock.move(max(due, self.clock.now()))
            self._pass_time()
        self.clock.move(max(time, self.clock.now()))

    def _take_readings(self) -> None:
        """The feed's next line, before whatever is due at the same moment."""
        for event in self.feed.take():
            if not self.conductor.session.ended:
                self._happen(event)

    def _pass_time(self) -> None:
        conductor = self.conductor
        ended = conductor.mouth.ends_at
        now = self.clock.now()
        if ended is not None and ended <= now:
            number = conductor.mouth.over(now)
            assert number is not None
            self._happen(SpeechEnded(number))
        else:
            self._happen(Clock())

    def _heard(self, event: Event) -> None:
        """An utterance: whatever the log holds beyond the last one came before it."""
        while self.past:
            at, logged = self.past.pop(0)
            self.clock.move(max(at, self.clock.now()))
            self._let_speech_end(at)
            self._again(at, logged)
        self._happen(event)

    def _happen(self, event: Event) -> None:
        """An event: new, or one that an earlier run already wrote down."""
        if not self.past:
            self.conductor.handle(event)
            while self.lost:
                self.conductor.handle(Lost("voice", self.lost.pop()))
            return
        at, logged = self.past.pop(0)
        if logged != event or abs(at - self.clock.now()) > 1e-6:
            raise LogDiffersError(
                f"The unfinished session in the logbook was not made from this recording: at "
                f"{self.clock.now():.2f} s the log holds {type(logged).__name__}, the recording "
                f"gives {type(event).__name__}. Give the same recording, or another --logbook."
            )
        self._again(at, logged)

    def _again(self, at: float, event: Event) -> None:
        self.conductor.carry_out(self.conductor.session.handle(event, at))

    def _finish(self) -> None:
        """Let waits run out, then stop; the last sentence is said to its end."""
        self._until(self.clock.now() + TAIL)
        if not self.conductor.session.ended:
            self._happen(Stopped("the recording is over"))
        while (end := self.conductor.mouth.ends_at) is not None:
            self.clock.move(max(end, self.clock.now()))
            self.conductor.mouth.over(self.clock.now())


def _through_last_utterance(past: list[tuple[float, Event]]) -> list[tuple[float, Event]]:
    heard = [i for i, (_, event) in enumerate(past) if isinstance(event, Heard | NotUnderstood)]
    last = heard[-1] if heard else -1
    return past[: last + 1]


def _ended(replayed: list[tuple[float, Event]]) -> float:
    """When the last replayed utterance ended: the ear may hear it once more."""
    last = replayed[-1][1] if replayed else None
    return last.ended if isinstance(last, Heard | NotUnderstood) else 0.0
