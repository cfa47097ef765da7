"""One step of a drill while it is made: the next state, and what must be done.

Rule of this file: it keeps state and effects together and in order; which are wanted
is decided in script.py, spoken.py and quiz.py.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from callout.checklist.model import Aircraft
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
from callout.trainer.model import Drill, Line
from callout.trainer.state import DrillState, Mark, Told
from callout.words.phrases import Grammar

_ORDER = (Record, Show, Listen, StopSaying, Tone, Say)


class Turn:
    """The mutable helper that lives for one step."""

    def __init__(self, drill: Drill, aircraft: Aircraft, state: DrillState) -> None:
        self.drill = drill
        self.aircraft = aircraft
        self.state = state
        self.effects: list[Effect] = []

    def set(self, **changes: Any) -> None:  # noqa: ANN401 - fields of the state
        """The state with these fields changed."""
        self.state = replace(self.state, **changes)

    def mark(self, line: Line, **changes: Any) -> None:  # noqa: ANN401 - fields of a mark
        """The mark of a line with these fields changed."""
        mark = replace(self.of(line), **changes)
        self.set(marks=self.state.marked(self.drill, line.id, mark))

    def of(self, line: Line) -> Mark:
        """The mark of a line."""
        return self.state.mark(self.drill, line.id)

    def tell(self, who: str, text: str, kind: str = "") -> None:
        """Into the timeline, and on the screen."""
        self.set(timeline=(*self.state.timeline, Told(round(self.state.t, 2), who, text, kind)))
        self.effects.append(Show(text, who))

    def say(
        self, text: str, line: str = "", *, who: str = "callout", kind: str = "",
        priority: Priority = Priority.PROCEDURE, fresh: float | None = None,
    ) -> int:  # fmt: skip
        """Say it aloud and tell it; returns its number."""
        self.tell(who, text, kind)
        spoken = (
            text if who in ("callout", "gauges", "situation") else f"{who.capitalize()}: {text}"
        )
        number = self.state.next_say
        self.effects.append(Say(number, spoken, priority, fresh=fresh))
        self.set(next_say=number + 1)
        if fresh is None:  # what may be dropped as stale never tells its end
            self.set(speaking=(*self.state.speaking, (number, line)))
        return number

    def hush(self) -> None:
        """Nothing that is being said or waits is said any more."""
        self.effects.append(StopSaying())
        self.set(speaking=())

    def tone(self, kind: ToneKind) -> None:
        """A short tone."""
        self.effects.append(Tone(kind))

    def listen(self, grammar: Grammar) -> None:
        """From now on this counts."""
        self.set(grammar=grammar)
        self.effects.append(Listen(grammar))

    def finish(self) -> tuple[DrillState, tuple[Effect, ...]]:
        """The next state, and the effects in their order."""
        ordered = sorted(self.effects, key=lambda one: _ORDER.index(type(one)))
        return self.state, tuple(ordered)
