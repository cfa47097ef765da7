"""The session: (state, event, now) -> (state, effects), and its deadline.

Rule of this file: it applies the table of rules.py and adds no rule of its
own. `step` is the whole engine as one pure function; `Session` only keeps the
state between steps.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType, ModuleType

from callout.checklist.model import Aircraft
from callout.engine import (
    alerts,
    answers,
    by_key,
    closing,
    commands,
    correcting,
    duties,
    flow,
    holding,
    leaving,
    limit_calls,
    override,
    questions,
    rundown_fire,
    sensing,
    sensors,
    squawk,
    squawk_open,
    timers,
    watch,
    watch_calls,
)
from callout.engine.effects import Effect, Listen, Record, ToneKind
from callout.engine.events import Event, Heard, Key, Reading, SpeechEnded
from callout.engine.grammar import grammar_of
from callout.engine.rules import RULES, Rule, State, Trigger, rule_for
from callout.engine.state import SessionState
from callout.engine.triggers import Input, classify
from callout.engine.turn import Turn

#: Asked while standing by, these are answered and the silence goes on.
QUESTIONS = frozenset({Trigger.WHY, Trigger.WHO_IS_NEXT, Trigger.WHAT_COUNTS})

#: Fields of the state that no grammar is made of: a reading that moves only these,
#: a hundred times a second, need not have the grammar made anew.
UNHEARD = frozenset({"now", "seen", "held_since", "alerts", "next_say", "duties", "watch"})

Action = Callable[[Turn], None]

ACTION_HOMES: tuple[ModuleType, ...] = (
    flow,
    closing,
    answers,
    by_key,
    correcting,
    override,
    commands,
    holding,
    leaving,
    questions,
    sensing,
    sensors,
    alerts,
    duties,
    rundown_fire,
    watch,
    watch_calls,
    squawk,
    squawk_open,
)
"""Where the actions that rules.py names are looked up, in this order."""


class BrokenRuleError(AssertionError):
    """An action led where its rule does not allow: a fault of the program."""


def _find(name: str) -> Action:
    for home in ACTION_HOMES:
        if name in vars(home):
            action: Action = vars(home)[name]
            return action
    raise BrokenRuleError(f"rules.py names the action {name!r}, which no file defines")


ACTIONS: Mapping[str, Action] = MappingProxyType(
    {rule.action: _find(rule.action) for row in RULES.values() for rule in row.values()}
)


def step(
    aircraft: Aircraft, state: SessionState, event: Event, now: float
) -> tuple[SessionState, tuple[Effect, ...]]:
    """Handle one event.

    `now` is session time (s); one that lies before the session's own counts as
    the session's own, so time never runs backwards.
    """
    turn = Turn(aircraft, state, event, Input(Trigger.NOTHING))
    if now > state.now:
        turn.set(now=now)
    turn.input = classify(aircraft, turn.state, event)
    rule = _prepare(turn)
    if rule is None:
        _unknown(turn)
        return turn.finish()
    if isinstance(event, Heard):
        turn.show(event.text, "pilot")
    if isinstance(event, Key):
        turn.show(f"[{event.means.value}]", "pilot")
    if isinstance(event, Reading):
        limit_calls.watch_limits(turn)
        duties.read(turn)
    if isinstance(event, SpeechEnded):
        alerts.said(turn)
        squawk_open.sounded(turn)
    before = turn.state.mode
    ACTIONS[rule.action](turn)
    duties.end_step(turn)
    _obey(rule, before, turn)
    _watch_start(turn)
    limit_calls.after_step(turn)
    _listen(turn)
    return turn.finish()


def _prepare(turn: Turn) -> Rule | None:
    """The rule of the state; standing by hears what it interrupted as well."""
    _end_squawk(turn)
    state = turn.state
    rule = rule_for(state.mode, turn.input.trigger)
    if rule is not None or state.mode is not State.STANDING_BY or state.back_to is None:
        return rule
    rule = rule_for(state.back_to, turn.input.trigger)
    if rule is not None and turn.input.trigger not in QUESTIONS:
        due = turn.now + turn.aircraft.settings.answer_time
        turn.set(mode=state.back_to, back_to=None, answer_due=due)
    return rule


def _end_squawk(turn: Turn) -> None:
    """What breaks in ends a squawk first, and finds the state that it interrupted."""
    squawk_open.forget_undo(turn)
    if turn.state.mode is State.SQUAWKING and squawk.breaks(turn):
        squawk.break_off(turn, turn.input.trigger)


def _unknown(turn: Turn) -> None:
    """An event that the table does not know names both and changes nothing."""
    if turn.input.trigger in (Trigger.NOTHING, Trigger.SPEECH_ENDED):
        return
    mode, trigger = turn.state.mode.value, turn.input.trigger.value
    turn.effects = [Record("no rule", "", (("state", mode), ("trigger", trigger)))]
    if isinstance(turn.event, Key):  # pressed by somebody who waits for something to happen
        turn.tone(ToneKind.NOT_UNDERSTOOD)


def _obey(rule: Rule, before: State, turn: Turn) -> None:
    after = turn.state.mode
    if after is not before and after not in rule.to:
        raise BrokenRuleError(f"{rule.action}: {before.value} -> {after.value} is not in its rule")


def _watch_start(turn: Turn) -> None:
    """A fault of the start breaks in by the rule of the state that the event led to."""
    fault = watch.follow(turn)
    rule = rule_for(turn.state.mode, Trigger.START_FAULT)
    if fault is None or rule is None:
        return
    turn.input = Input(Trigger.START_FAULT, argument=fault.id)
    _end_squawk(turn)
    rule = rule_for(turn.state.mode, Trigger.START_FAULT) or rule
    before = turn.state.mode
    ACTIONS[rule.action](turn)
    _obey(rule, before, turn)


def _listen(turn: Turn) -> None:
    """Say what counts from now on, if that changed."""
    if turn.state.mode is State.ENDED or turn.touched <= UNHEARD:
        return
    grammar = grammar_of(turn.aircraft, turn.state)
    if grammar is not turn.state.grammar:
        turn.set(grammar=grammar)
        turn.effects.append(Listen(grammar))


class Session:
    """One session: an aircraft and a state, moved by events.

    `now` of every call is session time in seconds. Not for several threads.
    """

    def __init__(self, aircraft: Aircraft) -> None:
        self.aircraft = aircraft
        self.state = SessionState()

    def handle(self, event: Event, now: float) -> tuple[Effect, ...]:
        """Take an event; return what must be done, in the order it must be done."""
        self.state, effects = step(self.aircraft, self.state, event, now)
        return effects

    def next_deadline(self) -> float | None:
        """Session time at which a Clock event is wanted; None for never."""
        return timers.next_deadline(self.aircraft, self.state)

    @property
    def ended(self) -> bool:
        """Whether the session is over."""
        return self.state.mode is State.ENDED
