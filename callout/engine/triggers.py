"""Event -> trigger: what an event amounts to in the state it meets.

Rule of this file: it only classifies. The meaning of heard words comes from
the grammar that is active now and from nothing else (invariant 3).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from callout.checklist.model import Aircraft
from callout.engine import events as ev
from callout.engine import rundown_sign
from callout.engine.condition import reached
from callout.engine.rules import State, Trigger
from callout.engine.state import SessionState
from callout.engine.timers import Due, due
from callout.words.resolve import Outcome
from callout.words.understand import Match, understand
from callout.words.universal import ALWAYS_HEARD, Word

WORD_TRIGGERS: Mapping[Word, Trigger] = MappingProxyType(
    {word: Trigger[word.name] for word in Word}
)
"""Each universal word is the trigger of the same name."""

DUE_TRIGGERS: Mapping[Due, Trigger] = MappingProxyType(
    {
        Due.ANSWER: Trigger.NO_ANSWER,
        Due.MARK: Trigger.MARK,
        Due.WAIT: Trigger.TIME_DONE,
        Due.LIMIT: Trigger.TIME_MISSED,
        Due.DUTY: Trigger.DUTY_DUE,
        Due.ALERT: Trigger.ALERT_DUE,
        Due.START: Trigger.START_DUE,
        Due.SQUAWK: Trigger.SQUAWK_OVER,
    }
)

SIMPLE: Mapping[type[ev.Event], Trigger] = MappingProxyType(
    {
        ev.SessionOpened: Trigger.OPENED,
        ev.SpeechEnded: Trigger.SPEECH_ENDED,
        ev.FeedFault: Trigger.SENSOR_FAULT,
        ev.FeedGood: Trigger.SENSOR_GOOD,
        ev.Lost: Trigger.LOST,
        ev.Restored: Trigger.RESTORED,
        ev.Resumed: Trigger.CAME_BACK,
        ev.Stopped: Trigger.STOPPED,
        ev.NotUnderstood: Trigger.NOT_UNDERSTOOD,
        ev.Noted: Trigger.NOTED,
    }
)

KEY_TRIGGERS: Mapping[ev.KeyMeaning, Trigger] = MappingProxyType(
    {
        ev.KeyMeaning.AFFIRM: Trigger.KEY_AFFIRM,
        ev.KeyMeaning.SAY_AGAIN: Trigger.SAY_AGAIN,
        ev.KeyMeaning.HOLD: Trigger.HOLD,
        ev.KeyMeaning.ROGER: Trigger.ROGER,
    }
)
"""A key's affirm is not the word: it may do less."""

NUMBER_TRIGGERS: Mapping[Outcome, Trigger] = MappingProxyType(
    {
        Outcome.ONE: Trigger.VALUE,
        Outcome.CONFIRM: Trigger.DOUBTFUL_VALUE,
        Outcome.NONE: Trigger.IMPOSSIBLE_VALUE,
    }
)

MEANINGS: Mapping[str, Trigger] = MappingProxyType(
    {
        "answer": Trigger.ANSWER,
        "wrong": Trigger.WRONG_ANSWER,
        "option": Trigger.OPTION,
        "reason": Trigger.REASON,
        "open": Trigger.OPEN_LIST,
        "procedure": Trigger.CALL_PROCEDURE,
        "correct": Trigger.CORRECT_ANSWER,
        "end": Trigger.END_SESSION,
        "beside": Trigger.BESIDE,
        "roger": Trigger.ROGER,
        "start": Trigger.START_SAID,
        "how": Trigger.SQUAWK_HOW,
    }
)
"""First part of a phrase's meaning -> trigger; the rest is the argument."""

WARNING_ANSWER = "roger:"
"""What the words mean that answer a warning."""


@dataclass(frozen=True, slots=True)
class Input:
    """A classified event.

    Fields:
        trigger: what it amounts to
        text: the words heard, or why they were not understood
        argument: list id, option id, answer ... as the trigger has it
        values: of a number, most likely first
        doubtful: of a correction: the value must be confirmed
    """

    trigger: Trigger
    text: str = ""
    argument: str = ""
    values: tuple[Decimal, ...] = ()
    doubtful: bool = False


def classify(aircraft: Aircraft, state: SessionState, event: ev.Event) -> Input:
    """What the event amounts to now."""
    if isinstance(event, ev.Heard):
        return _heard(state, event)
    if isinstance(event, ev.Key):
        return _pressed(state, event)
    if isinstance(event, ev.Clock):
        kind = due(aircraft, state)
        return Input(DUE_TRIGGERS[kind] if kind else Trigger.NOTHING)
    if isinstance(event, ev.Reading):
        if rundown_sign.shows_fire(aircraft, state, event.gauge, event.value, measured=True):
            return Input(Trigger.RESIDUAL_FIRE)
        met = state.mode is State.AWAITING and reached(aircraft, state, event)
        return Input(Trigger.CONDITION_MET if met else Trigger.READING)
    return Input(SIMPLE[type(event)])


def _heard(state: SessionState, event: ev.Heard) -> Input:
    match = understand(state.grammar, event.text)
    late = event.grammar != state.grammar.serial or event.began < state.asked_at
    playing = state.squawks.playing  # what a recording says counts for nothing
    late = late or (playing is not None and state.now < playing.until)
    if match is not None and not event.certainty >= match.certainty:  # so that NaN is refused
        return Input(Trigger.NOT_UNDERSTOOD, "not sure enough")
    if late and not _always(match):
        return Input(Trigger.LATE, event.text)
    if match is None:
        return Input(Trigger.NOT_UNDERSTOOD, "not in the grammar")
    return _meaning(match, event.text)


def _pressed(state: SessionState, event: ev.Key) -> Input:
    """A key that affirms answers a warning first: that comes before every item."""
    trigger = KEY_TRIGGERS[event.means]
    if event.means is ev.KeyMeaning.AFFIRM and state.warned:
        trigger = Trigger.ROGER
    return Input(trigger, f"key {event.means.value}")


def _always(match: Match | None) -> bool:
    always = {WARNING_ANSWER, *(f"word:{word.name}" for word in ALWAYS_HEARD)}
    return match is not None and (match.means in always or match.means.startswith("start"))


def _meaning(match: Match, text: str) -> Input:
    kind, _, argument = match.means.partition(":")
    if kind == "word":
        return Input(WORD_TRIGGERS[Word[argument]], text)
    if match.numbers is None:
        return Input(MEANINGS[kind], text, argument)
    values = match.numbers.values
    if kind == "correct value":
        doubtful = match.numbers.outcome is Outcome.CONFIRM
        return Input(Trigger.CORRECT_VALUE, text, argument, values, doubtful)
    if kind == "start value":
        clear = match.numbers.outcome is Outcome.ONE
        kind_of = Trigger.START_VALUE if clear else Trigger.START_UNCLEAR
        return Input(kind_of, text, argument, values)
    return Input(NUMBER_TRIGGERS[match.numbers.outcome], text, argument, values)
