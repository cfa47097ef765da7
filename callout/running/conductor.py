"""An event goes in: it is decided, written down, and carried out, in this order.

Rule of this file: what was not written down was not said. One thread owns a
Conductor; everything that happens reaches it as an event.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from callout.engine.effects import Effect, Listen, Record, Say, Show, StopSaying, Tone
from callout.engine.events import Clock, Event, Lost, SpeechEnded
from callout.engine.session import Session
from callout.logbook.errors import LogbookError
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook
from callout.running.clock import SessionClock
from callout.running.mouth import Mouth
from callout.words.phrases import Grammar


class Screen(Protocol):
    """Where lines for people go."""

    def line(self, now: float, who: str, text: str) -> None:
        """One line said by `who` at session time `now` (s)."""


@dataclass
class Written:
    """The logbook of one session; None once it could not be written any more."""

    logbook: Logbook | None
    session: int

    def append(self, event: Event, effects: tuple[Effect, ...], stamp: Stamp) -> None:
        """Write the event and its facts.  Raises LogbookError."""
        if self.logbook is not None:
            facts = [effect for effect in effects if isinstance(effect, Record)]
            self.logbook.append(self.session, event, facts, stamp)


class Conductor:
    """Session, logbook, mouth, ear and screen of one running session.

    Args:
        listen: told the grammar whenever it changes
    """

    def __init__(
        self,
        session: Session,
        written: Written,
        clock: SessionClock,
        mouth: Mouth,
        listen: Callable[[Grammar], None],
        screen: Screen,
    ) -> None:
        self.session = session
        self.written = written
        self.clock = clock
        self.mouth = mouth
        self._listen = listen
        self._screen = screen

    def handle(self, event: Event) -> None:
        """Decide, write down, carry out.

        The time written down is the time the session was given: a replay a
        millisecond off would find another deadline due, or an answer late.
        """
        now = self.clock.now()
        effects = self.session.handle(event, now)
        lost = ""
        try:
            self.written.append(event, effects, self.clock.stamp(now))
        except LogbookError as error:
            lost = str(error)
        self.carry_out(effects)
        if lost:
            # Afterwards: the effects may cut what is being said.
            self._lose_logbook(lost)

    def carry_out(self, effects: tuple[Effect, ...]) -> None:
        """Do what the engine ordered, in its order."""
        now = self.clock.now()
        for effect in effects:
            match effect:
                case Show(text, who):
                    self._screen.line(now, who, text)
                case Listen(grammar):
                    self._listen(grammar)
                case StopSaying():
                    self.mouth.stop(now)
                case Tone(kind):
                    self.mouth.tone(kind, now)
                case Say():
                    self.mouth.say(effect, now)
                case Record():
                    pass

    def _lose_logbook(self, why: str) -> None:
        """The list goes on unrecorded, and the pilot is told; nothing pretends otherwise."""
        self.written.logbook = None
        self._screen.line(self.clock.now(), "note", why)
        self.carry_out(self.session.handle(Lost("logbook", why), self.clock.now()))

    def next_due(self) -> float | None:
        """Session time (s) of what is next: a deadline, or the end of a sentence."""
        due = [t for t in (self.session.next_deadline(), self.mouth.ends_at) if t is not None]
        return min(due, default=None)

    def pass_time(self) -> bool:
        """Handle one thing that is due now; False when nothing is."""
        now = self.clock.now()
        ended = self.mouth.over(now)
        if ended is not None:
            self.handle(SpeechEnded(ended))
            return True
        deadline = self.session.next_deadline()
        if deadline is not None and deadline <= now:
            self.handle(Clock())
            return True
        return False
