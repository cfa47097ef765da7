"""The table {state: {trigger: rule}}: every rule of a session stands here.

Rule of this file: data only. A rule names the action that carries it out
(actions are in the files named in ACTION_HOMES of session.py) and the states
it may lead to; session.py refuses an action that leads anywhere else, so the
picture in DEVELOPERS.md, which is drawn from this table, is true.

A trigger that a state's row lacks changes nothing but the log.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from callout.engine.states import State as State
from callout.engine.states import Trigger as Trigger


@dataclass(frozen=True, slots=True)
class Rule:
    """Which action, and where it may lead (empty: stays)."""

    action: str
    to: frozenset[State] = frozenset()


S, T = State, Trigger

ITEM_STATES = frozenset({S.ASKING, S.ADVISING, S.TIMING, S.AWAITING})
"""States in which an item is in hand."""

ONWARD = ITEM_STATES | {S.REVIEWING, S.READY, S.ENDED}
"""Where a finished item leads: the next item, the review, or out of the list."""

INTO_LIST = ITEM_STATES | {S.READY, S.ENDED}
"""Where opening a list leads: an item, or past it if it is refused or none applies."""


def _rule(action: str, *to: State | frozenset[State]) -> Rule:
    sets = (one if isinstance(one, frozenset) else frozenset({one}) for one in to)
    return Rule(action, frozenset[State]().union(*sets))


# Heard and meant the same in every state (invariant 8), and what happens to
# the machine itself rather than to the list.
ALWAYS: Mapping[Trigger, Rule] = MappingProxyType(
    {
        T.SAY_AGAIN: _rule("say_again"),
        T.STAND_BY: _rule("stand_by", S.STANDING_BY),
        T.DISREGARD: _rule("disregard", ITEM_STATES, S.READY, S.REVIEWING),
        T.ABORT: _rule("abort", INTO_LIST, S.REVIEWING),
        T.HELP: _rule("help_now"),
        T.WHERE_AM_I: _rule("where_am_i"),
        T.WHAT_IS_OPEN: _rule("what_is_open"),
        T.CALL_PROCEDURE: _rule("call_procedure", INTO_LIST, S.REVIEWING),
        T.NOT_UNDERSTOOD: _rule("not_understood"),
        T.LATE: _rule("late"),
        T.SPEECH_ENDED: _rule("speech_ended"),
        T.READING: _rule("take_reading"),
        T.SENSOR_FAULT: _rule("sensor_fault"),
        T.SENSOR_GOOD: _rule("sensor_good"),
        T.LOST: _rule("part_lost"),
        T.RESTORED: _rule("part_restored"),
        T.CAME_BACK: _rule("came_back", S.HOLDING),
        T.STOPPED: _rule("stopped", S.ENDED),
        T.NOTHING: _rule("nothing"),
        T.BESIDE: _rule("heard_beside"),
        T.DUTY_DUE: _rule("duty_due"),
        T.RESIDUAL_FIRE: _rule("residual_fire", INTO_LIST),
        T.START_SAID: _rule("start_said"),
        T.START_VALUE: _rule("start_value", ITEM_STATES, S.REVIEWING, S.READY, S.ENDED),
        T.START_UNCLEAR: _rule("start_unclear"),
        T.START_DUE: _rule("start_due"),
        T.START_FAULT: _rule("start_fault", INTO_LIST, S.REVIEWING),
        T.MARK: _rule("say_mark"),
        T.TIME_DONE: _rule("note_time_done"),
        T.ROGER: _rule("acknowledge"),
        T.ALERT_DUE: _rule("repeat_warnings"),
        T.KEY_AFFIRM: _rule("refuse_key"),
    }
)

# What may be said about squawks wherever a list stands or is asked for.
SQUAWKS: Mapping[Trigger, Rule] = MappingProxyType(
    {
        T.SQUAWK: _rule("open_squawk", S.SQUAWKING),
        T.PLAY_SQUAWK: _rule("play_squawk"),
        T.NEXT_SQUAWK: _rule("next_squawk"),
        T.CLEAR_SQUAWK: _rule("close_squawk", S.CLOSING_SQUAWK),
        T.GROUND: _rule("ground"),
    }
)

# What may be said about the item in hand, whatever kind it is.
IN_HAND: Mapping[Trigger, Rule] = MappingProxyType(
    {
        T.HOLD: _rule("hold", S.HOLDING),
        T.DEFER: _rule("defer", ONWARD),
        T.SKIP: _rule("skip", ONWARD),
        T.OVERRIDE: _rule("ask_override", S.REASONING),
        T.WHY: _rule("say_why"),
        T.WHO_IS_NEXT: _rule("who_is_next"),
        T.GO_BACK: _rule("go_back", ITEM_STATES),
        T.CORRECTION: _rule("correction", ITEM_STATES),
        T.CORRECT_ANSWER: _rule("correct_answer", ONWARD),
        T.CORRECT_VALUE: _rule("correct_value", ONWARD, S.CONFIRMING),
        T.NEGATIVE: _rule("not_confirmed", S.STANDING_BY),
        T.UNABLE: _rule("not_confirmed", S.STANDING_BY),
        T.NO_ANSWER: _rule("no_answer", S.STANDING_BY),
        **SQUAWKS,
    }
)

ASKED: Mapping[Trigger, Rule] = MappingProxyType(
    {
        T.ANSWER: _rule("take_answer", ONWARD),
        T.WRONG_ANSWER: _rule("refuse_answer"),
        T.VALUE: _rule("take_value", ONWARD),
        T.DOUBTFUL_VALUE: _rule("ask_which_value", S.CONFIRMING),
        T.IMPOSSIBLE_VALUE: _rule("refuse_impossible"),
        T.OPTION: _rule("take_option", ONWARD),
        T.KEY_AFFIRM: _rule("affirm_item", ONWARD),
    }
)

ASKED_BACK: Mapping[Trigger, Rule] = MappingProxyType(
    {
        T.NEGATIVE: _rule("drop_override", ITEM_STATES, S.READY, S.REVIEWING),
        T.HOLD: _rule("hold", S.HOLDING),
        T.NO_ANSWER: _rule("no_answer", S.STANDING_BY),
        T.TIME_MISSED: _rule("time_missed", INTO_LIST),
        T.SQUAWK: SQUAWKS[T.SQUAWK],
    }
)

# While a squawk is recorded: what is always heard, and what does not wait for words.
# What ends it by the way is then done as in the state that it interrupted (squawk.py).
UNHEARD_IN_SQUAWK = (T.WHERE_AM_I, T.WHAT_IS_OPEN, T.BESIDE)
BACK = ITEM_STATES | {S.READY, S.REVIEWING, S.STANDING_BY, S.HOLDING}

IN_SQUAWK: Mapping[Trigger, Rule] = MappingProxyType(
    {
        **{trigger: rule for trigger, rule in ALWAYS.items() if trigger not in UNHEARD_IN_SQUAWK},
        T.DISREGARD: _rule("disregard", BACK, S.ENDED),
        T.NOT_UNDERSTOOD: _rule("talk"),
        T.LATE: _rule("talk"),
        T.NOTED: _rule("note"),
        T.END_SQUAWK: _rule("end_squawk", BACK, S.ENDED),
        T.SQUAWK_OVER: _rule("squawk_over", BACK, S.ENDED),
        T.TIME_MISSED: _rule("time_missed", INTO_LIST),
    }
)

RULES: Mapping[State, Mapping[Trigger, Rule]] = MappingProxyType(
    {
        S.CLOSED: {T.OPENED: _rule("open_session", INTO_LIST)},
        S.READY: {
            **ALWAYS,
            T.PROCEED: _rule("open_next", INTO_LIST),
            T.KEY_AFFIRM: _rule("affirm_next", INTO_LIST),
            T.OPEN_LIST: _rule("open_named", INTO_LIST),
            T.OVERRIDE: _rule("ask_override", S.REASONING),
            T.CORRECTION: _rule("correction", ITEM_STATES, S.READY),
            T.WHO_IS_NEXT: _rule("who_is_next"),
            T.WHAT_COUNTS: _rule("what_counts"),
            T.END_SESSION: _rule("end_session", S.ENDED),
            **SQUAWKS,
            T.NO_ANSWER: _rule("no_answer", S.STANDING_BY),
        },
        S.ASKING: {**ALWAYS, **IN_HAND, **ASKED},
        S.ADVISING: {
            **ALWAYS,
            **IN_HAND,
            T.SPEECH_ENDED: _rule("advice_said", ONWARD),
        },
        S.TIMING: {**ALWAYS, **IN_HAND, T.TIME_DONE: _rule("finish_wait", ONWARD)},
        S.AWAITING: {
            **ALWAYS,
            **IN_HAND,
            **ASKED,
            T.CONDITION_MET: _rule("condition_met", ONWARD),
            T.TIME_MISSED: _rule("time_missed", INTO_LIST),
        },
        S.CONFIRMING: {
            **ALWAYS,
            **ASKED_BACK,
            T.AFFIRM: _rule("value_confirmed", ONWARD),
            T.NEGATIVE: _rule("value_denied", S.ASKING, S.AWAITING),
            T.VALUE: _rule("take_value", ONWARD),
            T.DOUBTFUL_VALUE: _rule("ask_which_value", S.CONFIRMING),
            T.IMPOSSIBLE_VALUE: _rule("refuse_impossible", S.ASKING, S.AWAITING),
            T.WRONG_ANSWER: _rule("refuse_answer", S.ASKING, S.AWAITING),
        },
        S.REASONING: {
            **ALWAYS,
            **ASKED_BACK,
            T.REASON: _rule("take_reason", S.CONFIRMING_OVERRIDE),
        },
        S.CONFIRMING_OVERRIDE: {
            **ALWAYS,
            **ASKED_BACK,
            T.CONFIRM_OVERRIDE: _rule("override", ONWARD),
        },
        S.STANDING_BY: {
            **ALWAYS,
            T.RESUME: _rule("leave_stand_by", ONWARD),
            T.KEY_AFFIRM: _rule("affirm_resume", ONWARD),
            T.HOLD: _rule("hold", S.HOLDING),
            T.TIME_MISSED: _rule("time_missed", INTO_LIST),
            T.SQUAWK: SQUAWKS[T.SQUAWK],
        },
        S.HOLDING: {
            **ALWAYS,
            T.SQUAWK: SQUAWKS[T.SQUAWK],
            T.RESUME: _rule("resume", ONWARD),
            T.KEY_AFFIRM: _rule("affirm_resume", ONWARD),
            T.TIME_MISSED: _rule("time_missed", INTO_LIST),
        },
        S.REVIEWING: {
            **ALWAYS,
            T.GO_BACK: _rule("review_open", ONWARD),
            T.PROCEED: _rule("leave_open", S.READY, S.ENDED),
            T.CORRECTION: _rule("correction", ITEM_STATES, S.REVIEWING),
            T.OVERRIDE: _rule("override_open", S.REASONING),
            T.HOLD: _rule("hold", S.HOLDING),
            T.NO_ANSWER: _rule("no_answer", S.STANDING_BY),
            **SQUAWKS,
        },
        S.SQUAWKING: IN_SQUAWK,
        S.CLOSING_SQUAWK: {
            **ALWAYS,
            **ASKED_BACK,
            T.NEGATIVE: _rule("keep_open", ITEM_STATES, S.READY, S.REVIEWING),
            T.SQUAWK_HOW: _rule("take_how", ITEM_STATES, S.READY, S.REVIEWING),
        },
        S.ENDED: {},
    }
)


def rule_for(state: State, trigger: Trigger) -> Rule | None:
    """The rule, or None when this state does not know the trigger."""
    return RULES[state].get(trigger)
