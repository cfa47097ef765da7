"""One step in the making: the next state and the effects, gathered.

Rule of this file: a Turn lives for one step only and is the one mutable thing
in the engine. Actions change the state through it and speak through it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from callout.checklist.model import Aircraft, CheckList, Item
from callout.engine import wording
from callout.engine.effects import (
    Effect,
    Listen,
    Priority,
    Record,
    Say,
    Show,
    StopSaying,
    Tone,
    ToneKind,
)
from callout.engine.events import Event
from callout.engine.state import Mark, Progress, SessionState, Status, changed, current
from callout.engine.triggers import Input

#: Seconds a sentence may take before its end is reported, per character and in
#: all: only a bound for a voice that never reports (common practice, no source).
SPEAKING_SECONDS_PER_CHARACTER = 0.12
SPEAKING_SECONDS_MORE = 3.0

PROMPT = "prompt"
"""What prompts are about: the newest is the one that an answer is due to."""

REMARK_FRESH = 5.0
"""Seconds after which a remark that could not be said says nothing to anybody any
more (common practice, no source)."""


def longest_saying(text: str) -> float:
    """Seconds in which a sentence is said to its end, unless the voice never reports."""
    return SPEAKING_SECONDS_MORE + SPEAKING_SECONDS_PER_CHARACTER * len(text)


@dataclass
class Turn:
    """What one event does."""

    aircraft: Aircraft
    state: SessionState
    event: Event
    input: Input
    effects: list[Effect] = field(default_factory=list)
    #: value of a gauge that the pilot gave in this step, and words about a start
    called: tuple[str, Decimal | None] = ("", None)
    words: str = ""
    #: why a list breaks in: said in one breath with its first prompt, before all else
    lead: str = ""
    #: how many of the effects duties.py has looked at
    followed: int = 0
    #: names of the fields of the state that were set in this step
    touched: set[str] = field(default_factory=set)

    @property
    def now(self) -> float:
        """Session time of this step (s)."""
        return self.state.now

    def set(self, **changes: Any) -> None:  # noqa: ANN401  fields of SessionState
        """Change fields of the state."""
        self.touched.update(changes)
        self.state = changed(self.state, changes)

    @property
    def run(self) -> Progress:
        """The running list; only called where there is one."""
        assert self.state.run is not None
        return self.state.run

    @property
    def checklist(self) -> CheckList:
        """The list in hand."""
        return self.aircraft.list(self.run.list_id)

    @property
    def items(self) -> tuple[Item, ...]:
        """Items of the list in hand."""
        return tuple(self.checklist.items())

    @property
    def item(self) -> Item:
        """The item in hand."""
        return current(self.aircraft, self.state)[1]

    @property
    def about(self) -> str:
        """Name of what is in hand, for the log: "list/item", "list" or ""."""
        if self.state.run is None:
            return ""
        if self.state.item is None:
            return self.run.list_id
        return f"{self.run.list_id}/{self.item.id}"

    def record(self, fact: str, about: str | None = None, **data: str) -> None:
        """Write a fact down."""
        where = self.about if about is None else about
        self.effects.append(Record(fact, where, tuple(sorted(data.items()))))

    def show(self, text: str, who: str = "callout") -> None:
        """A line to read."""
        self.effects.append(Show(text, who))

    def say(
        self,
        text: str,
        priority: Priority = Priority.PROCEDURE,
        *,
        about: str = "",
        tone: ToneKind | None = None,
        patient: bool = False,
        fresh: float | None = None,
        clip: str = "",
    ) -> int:
        """Say a sentence (and show it); returns its number.  The rest is as in Say."""
        number = self.state.next_say
        self.set(next_say=number + 1)
        self.effects += [Show(text), Say(number, text, priority, about, tone, patient, fresh, clip)]
        return number

    def forget(self, about: str, *, waiting_only: bool = False) -> None:
        """Cut and drop what is about this: it no longer holds."""
        self.effects.append(StopSaying(about, waiting_only))

    def hush(self) -> None:
        """Cut what is being said: it no longer holds, and a prompt among it was heard so far."""
        if self.state.prompt_say is not None:
            self.set(prompt_say=None, prompt_ended_at=self.now)
        if self.state.squawks.playing is not None:
            self.set(squawks=replace(self.state.squawks, playing=None))
        self.effects.append(StopSaying())

    def tone(self, kind: ToneKind) -> None:
        """Sound a tone."""
        self.effects.append(Tone(kind))

    def ask(self, prompt: str, *, again: bool = False) -> None:
        """Say the sentence that an answer is due to, and give time for it."""
        lead, self.lead = self.lead, ""
        priority = Priority.ABORT if lead else Priority.PROCEDURE
        text = wording.abort_prompt(lead, prompt) if lead else prompt
        number = self.say(text, priority, about=PROMPT)
        if lead:  # it cuts what alerts are being said: they have not begun
            cut = [replace(alert, began=None) for alert in self.state.alerts]
            self.set(alerts=tuple(cut))
        self.set(
            prompt=prompt,
            prompt_say=number,
            prompt_ended_at=None,
            misheard=0,
            answer_due=self.now + longest_saying(prompt) + self.aircraft.settings.answer_time,
        )
        if not again:
            self.set(asked_at=self.now, times_asked=0)

    def remark(self, text: str) -> None:
        """Say something that is no prompt; the time for the answer starts again."""
        self.say(text, Priority.REMARK, fresh=REMARK_FRESH)
        self.more_time(text)

    def more_time(self, text: str) -> None:
        """Something else is said meanwhile: the time for the answer starts again after it."""
        if self.state.answer_due is not None:
            due = self.now + longest_saying(text) + self.aircraft.settings.answer_time
            self.set(answer_due=max(due, self.state.answer_due))

    def mark(self, index: int, status: Status, answer: str = "") -> None:
        """Set what became of an item of the running list."""
        marks = list(self.run.marks)
        marks[index] = Mark(status, self.now, answer)
        self.set(run=replace(self.run, marks=tuple(marks)))

    def finish(self) -> tuple[SessionState, tuple[Effect, ...]]:
        """The next state, and the effects in the order they must be carried out."""
        return self.state, tuple(sorted(self.effects, key=_order))


def _order(effect: Effect) -> int:
    """Record, Show, Listen, then what sounds, in the order it was given."""
    first = (Record, Show, Listen)
    return next((i for i, kind in enumerate(first) if isinstance(effect, kind)), len(first))
