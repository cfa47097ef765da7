"""The pilot of a soak: types an answer now and then, mostly the right one.

Rule of this file: he comes into a session as a recorded feed's lines do, at his own times,
and everything that he does by chance comes from one generator.
"""

from __future__ import annotations

import numpy as np

from callout.checklist.model import Aircraft
from callout.engine.answers import wanted_band
from callout.engine.events import Event, Heard
from callout.engine.grammar import gauge_of
from callout.engine.rules import State
from callout.engine.state import SessionState, current
from callout.running.conductor import Conductor
from callout.running.feeding import NoFeed
from callout.words.say_numbers import say_digits

SOONEST, LATEST = 4.0, 40.0
"""Seconds after which the pilot types his next answer, by chance between these."""

OTHERWISE = ("defer", "hold", "say again", "stand by", "where am i", "what is open")
"""What he types one time in eight instead of an answer."""

TRIES = 12
"""Answers that get him nowhere after which he gives the session up, as where a list is blocked
by one that was never run."""

TICKING = ("answer:", "option:")
OVERRIDING = ("reason:", "word:CONFIRM_OVERRIDE")
GOING_ON = ("word:PROCEED", "word:RESUME", "word:GO_BACK")


class Pilot(NoFeed):
    """Types an answer now and then; comes into a session as a recorded feed's lines do."""

    def __init__(self, aircraft: Aircraft, chance: np.random.Generator) -> None:
        self.conductor: Conductor | None = None
        self._aircraft = aircraft
        self._chance = chance
        self._at = float(chance.uniform(SOONEST, LATEST))
        self._place: tuple[object, ...] = ()
        self._tries = 0

    @property
    def at_a_loss(self) -> bool:
        """Whether nothing that he says gets him on."""
        return self._tries > TRIES

    def next_at(self) -> float | None:
        """When he types next (s)."""
        return self._at

    def take(self) -> list[Event]:
        """What he types."""
        assert self.conductor is not None
        now, state = self._at, self.conductor.session.state
        self._at = now + float(self._chance.uniform(SOONEST, LATEST))
        text = self._text(state)
        return [Heard(text, 1.0, state.grammar.serial, now, now, "keys")] if text else []

    def _text(self, state: SessionState) -> str:
        if self._chance.random() < 1 / 8:
            return str(self._chance.choice(OTHERWISE))
        place = (state.run and (state.run.list_id, state.run.marks), state.item, state.plan)
        self._tries = self._tries + 1 if place == self._place else 0
        self._place = place
        if state.mode is State.HOLDING:
            return self._phrase(state, GOING_ON)
        value = self._value(state)
        if value:
            return value
        if state.wanted and State.READY in (state.mode, state.back_to):
            return "override"  # a list of the middle of the day needs those before it
        return self._phrase(state, TICKING, OVERRIDING, GOING_ON)

    def _phrase(self, state: SessionState, *groups: tuple[str, ...]) -> str:
        for wanted in groups:
            for phrase in state.grammar.phrases:
                if phrase.means.startswith(wanted):
                    return phrase.text
        return ""

    def _value(self, state: SessionState) -> str:
        if state.run is None or state.item is None:
            return ""
        item = current(self._aircraft, state)[1]
        gauge = gauge_of(self._aircraft, item)
        if gauge is None:
            return ""
        band = wanted_band(item)
        low = band.at_least if band.at_least is not None else band.at_most
        value = low if low is not None else gauge.possible.at_least
        return say_digits(value) if value is not None else ""
