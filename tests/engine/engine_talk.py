"""A pilot made of words: drives a session by hand and gives back what it did."""

from __future__ import annotations

from dataclasses import dataclass, field

from callout.checklist.model import Aircraft
from callout.engine.effects import Effect, Record, Say
from callout.engine.events import Clock, Event, Heard, SessionOpened, SpeechEnded
from callout.engine.session import Session


@dataclass
class Talk:
    """A session and the time in it; each call gives the effects of one event."""

    aircraft: Aircraft
    session: Session = field(init=False)
    now: float = 0.0
    effects: tuple[Effect, ...] = ()
    facts: list[Record] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.session = Session(self.aircraft)

    def handle(self, event: Event) -> tuple[Effect, ...]:
        self.effects = self.session.handle(event, self.now)
        self.facts += [e for e in self.effects if isinstance(e, Record)]
        return self.effects

    def handle_said(self, event: Event) -> list[str]:
        self.handle(event)
        return self.said

    def open(self, *lists: str) -> Talk:
        self.handle(SessionOpened(lists))
        return self

    def hear_out(self) -> None:
        """Let the prompt be said to its end."""
        self.now += 1.0
        if self.session.state.prompt_say is not None:
            self.handle(SpeechEnded(self.session.state.prompt_say))

    def say(self, *texts: str, certainty: float = 1.0) -> Talk:
        """Answer two seconds after the prompt's end, once for each text."""
        for text in texts:
            self.hear_out()
            self.now += 2.0
            serial = self.session.state.grammar.serial
            self.handle(Heard(text, certainty, serial, self.now - 0.5, self.now, "test"))
        return self

    def wait(self, seconds: float) -> Talk:
        """Let time pass, each deadline at its own moment."""
        until = self.now + seconds
        while (due := self.session.next_deadline()) is not None and due <= until:
            self.now = max(self.now, due)
            self.handle(Clock())
        self.now = until
        return self

    @property
    def said(self) -> list[str]:
        """Sentences of the last event."""
        return [e.text for e in self.effects if isinstance(e, Say)]

    def about(self, fact: str) -> list[str]:
        """What the facts of this kind were about, in order."""
        return [one.about for one in self.facts if one.fact == fact]
