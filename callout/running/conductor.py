"""An event goes in: it is decided, written down, and carried out, in this order.

Rule of this file: what was not written down was not said. One thread owns a
Conductor; everything that happens reaches it as an event.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from callout.checklist.model import Aircraft
from callout.engine.effects import (
    Effect,
    Keep,
    Listen,
    Record,
    Say,
    Show,
    StopSaying,
    Tone,
    ToneKind,
)
from callout.engine.events import Clock, Event, Lost, Reading, SpeechEnded
from callout.logbook.errors import LogbookError
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook
from callout.running.clock import SessionClock, boot_seconds
from callout.running.kept import Kept
from callout.running.moments import UNMARKED, Moments, Unmarked, about
from callout.running.mouth import Mouth
from callout.words.phrases import Grammar

SETTLED = 1.0
"""Seconds after which readings that nothing followed from are on the disk."""

SETTLED_RECORDED = 30.0
"""The same in recording time, in which a lost reading comes again."""


class Steps(Protocol):
    """What is moved by events: a session of checklists, or a drill."""

    @property
    def aircraft(self) -> Aircraft:
        """What it is about."""

    @property
    def state(self) -> Any:  # noqa: ANN401 - each has its own; both tell the grammar
        """What it remembers."""

    def handle(self, event: Event, now: float) -> tuple[Effect, ...]:
        """Take an event; return what must be done, in the order it must be done."""

    def next_deadline(self) -> float | None:
        """Session time at which a Clock event is wanted; None for never."""

    @property
    def ended(self) -> bool:
        """Whether it is over."""


class Screen(Protocol):
    """Where lines for people go."""

    def line(self, now: float, who: str, text: str) -> None:
        """One line said by `who` at session time `now` (s)."""


@dataclass
class Written:
    """The logbook of one session; None once it could not be written any more.

    Fields:
        settled: session seconds after which noted readings are written
    """

    logbook: Logbook | None
    session: int
    settled: float = SETTLED

    def append(self, event: Event, effects: tuple[Effect, ...], stamp: Stamp) -> None:
        """Write the event and its facts.  Raises LogbookError."""
        if self.logbook is not None:
            facts = [effect for effect in effects if isinstance(effect, Record)]
            self.logbook.append(self.session, event, facts, stamp)

    def note(self, reading: Reading, now: float) -> None:
        """Remember a reading that nothing followed from, to be written with others."""
        if self.logbook is not None:
            self.logbook.note(self.session, reading, now)

    def to_settle(self, now: float) -> bool:
        """Whether readings have waited long enough to be written."""
        since = None if self.logbook is None else self.logbook.noted_since
        return since is not None and now - since >= self.settled

    def settle(self, stamp: Stamp) -> None:
        """Write what was noted.  Raises LogbookError."""
        if self.logbook is not None:
            self.logbook.settle(stamp)


class Conductor:
    """Session, logbook, mouth, ear and screen of one running session.

    Args:
        listen: told the grammar whenever it changes
        at_once: whether this sentence can sound without delay; the tone that acknowledges
            an answer is for when it cannot, because the call itself is answer enough
        moments: takes the marks of each step
        kept: keeps recordings; None where nothing can be kept
    """

    def __init__(
        self,
        session: Steps,
        written: Written,
        clock: SessionClock,
        mouth: Mouth,
        listen: Callable[[Grammar], None],
        screen: Screen,
        at_once: Callable[[str], bool] = lambda text: False,
        moments: Moments = UNMARKED,
        kept: Kept | None = None,
    ) -> None:
        self.session = session
        self.written = written
        self.clock = clock
        self.mouth = mouth
        self._listen = listen
        self._screen = screen
        self._at_once = at_once
        self._moments = moments
        self.kept = kept
        self._recording_lost = False

    def handle(self, event: Event) -> None:
        """Decide, write down, carry out.

        The time written down is the time the session was given: a replay a
        millisecond off would find another deadline due, or an answer late.
        """
        now, began = self.clock.now(), boot_seconds()
        effects = self.session.handle(event, now)
        if isinstance(event, Reading) and not effects:
            self.written.note(event, now)
            self._settle(now)
            return
        decided = boot_seconds()
        lost = ""
        try:
            self.written.append(event, effects, self.clock.stamp(now))
        except LogbookError as error:
            lost = str(error)
        written = boot_seconds()
        self.carry_out(effects)
        self._mark(event, effects, began=began, decided=decided, written=written)
        if lost:
            # Afterwards: the effects may cut what is being said.
            self._lose_logbook(lost)

    def _mark(self, event: Event, effects: tuple[Effect, ...], **times: float) -> None:
        if isinstance(self._moments, Unmarked):
            return
        facts = [effect.fact for effect in effects if isinstance(effect, Record)]
        said = [effect.text for effect in effects if isinstance(effect, Say)]
        state = about(self.session.state)
        name = type(event).__name__
        self._moments.mark("step", None, event=name, facts=facts, said=said, **times, **state)

    def carry_out(self, effects: tuple[Effect, ...]) -> None:
        """Do what the engine ordered, in its order."""
        now = self.clock.now()
        for effect in effects:
            match effect:
                case Show(text, who):
                    self._screen.line(now, who, text)
                case Listen(grammar):
                    self._listen(grammar)
                case StopSaying(subject, waiting_only):
                    self.mouth.stop(now, subject, waiting_only=waiting_only)
                case Tone(ToneKind.HEARD) if self._call_follows(effects):
                    pass
                case Tone(kind):
                    self.mouth.tone(kind, now)
                case Say():
                    self.mouth.say(effect, now)
                case Keep():
                    if self.kept is not None and self.written.logbook is not None:
                        self.kept.obey(effect)
                case Record():
                    pass

    def _call_follows(self, effects: tuple[Effect, ...]) -> bool:
        said = [effect.text for effect in effects if isinstance(effect, Say)]
        return bool(said) and self.mouth.has_voice and self._at_once(said[0])

    def _settle(self, now: float) -> None:
        if self.written.to_settle(now):
            try:
                self.written.settle(self.clock.stamp(now))
            except LogbookError as error:
                self._lose_logbook(str(error))

    def keep(self, *, rest: bool = False) -> None:
        """Write what is ready of recordings; with `rest`, all there is of them."""
        if self.kept is None or self.written.logbook is None:
            return
        now = self.clock.now()
        try:
            self.kept.write(now, self.clock.stamp(now), rest=rest)
        except LogbookError as error:
            self._lose_logbook(str(error))
        if self.kept.keeper.fault and not self._recording_lost:
            self._recording_lost = True  # told once
            self.handle(Lost("recording", self.kept.keeper.fault))

    def _lose_logbook(self, why: str) -> None:
        """The list goes on unrecorded, and the pilot is told; nothing pretends otherwise."""
        self.written.logbook = None
        if self.kept is not None:
            self.kept.lose()
        self._screen.line(self.clock.now(), "note", why)
        self.carry_out(self.session.handle(Lost("logbook", why), self.clock.now()))

    def next_due(self) -> float | None:
        """Session time (s) of what is next: a deadline, or the end of a sentence."""
        due = [t for t in (self.session.next_deadline(), self.mouth.ends_at) if t is not None]
        return min(due, default=None)

    def pass_time(self) -> bool:
        """Handle one thing that is due now; False when nothing is."""
        now = self.clock.now()
        self._settle(now)
        self.keep()
        ended = self.mouth.over(now)
        if ended is not None:
            self.handle(SpeechEnded(ended))
            return True
        deadline = self.session.next_deadline()
        if deadline is not None and deadline <= now:
            self.handle(Clock())
            return True
        return False
