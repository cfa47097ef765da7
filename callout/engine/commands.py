"""The universal words: say again, stand by, hold, abort, help and their kin.

Rule of this file: each does the same in every state (invariant 8). None of
them ticks anything.
"""

from __future__ import annotations

from callout.checklist.model import Advise, ListKind
from callout.engine import (
    alerts,
    closing,
    correcting,
    flow,
    holding,
    marks,
    squawk,
    squawk_open,
    wording,
)
from callout.engine.effects import ToneKind
from callout.engine.rules import State
from callout.engine.state import applies
from callout.engine.turn import Turn

DIALOGUE = frozenset(
    {State.CONFIRMING, State.REASONING, State.CONFIRMING_OVERRIDE, State.CLOSING_SQUAWK}
)
"""States in which something is asked back."""


def say_again(turn: Turn) -> None:
    """The last sentence that wants an answer, from its beginning."""
    turn.hush()
    turn.ask(turn.state.prompt, again=True)


def disregard(turn: Turn) -> None:
    """The last utterance is undone."""
    turn.record("disregard")
    if turn.state.mode is State.SQUAWKING:
        squawk.take_back(turn)
    elif turn.state.mode in DIALOGUE:
        turn.hush()
        flow.reask(turn)
    elif turn.state.mode in (State.STANDING_BY, State.HOLDING):
        turn.hush()
        holding.take_back(turn)
    elif not squawk_open.undo(turn) and not correcting.back_to_last(turn, "disregard"):
        turn.hush()
        turn.say("Nothing to disregard.")
        flow.reask(turn)


def correction(turn: Turn) -> None:
    """`correction` alone: the last item is asked again."""
    if not correcting.back_to_last(turn, "correction"):
        turn.hush()
        turn.say("Nothing to correct.")
        flow.reask(turn)


def go_back(turn: Turn) -> None:
    """To the applying item before this one; its tick no longer counts.

    Advice is passed over: it would end by itself and lead straight back here.
    """
    assert turn.state.item is not None
    before = [
        i
        for i, item in enumerate(turn.items[: turn.state.item])
        if applies(item, turn.state.choices) and not isinstance(item.task, Advise)
    ]
    turn.hush()
    if not before:
        turn.say("This is the first item.")
        flow.reask(turn)
        return
    marks.reopen(turn, before[-1], "go back")
    flow.begin_item(turn, before[-1])


def abort(turn: Turn) -> None:
    """Stop the running list and open its abort procedure, at once.

    Just after a list its procedure still holds: its last answer may have come
    a moment before the trouble.
    """
    if turn.state.run is None:
        _abort_between(turn)
        return
    checklist = turn.checklist
    if checklist.kind is not ListKind.NORMAL:
        turn.hush()
        turn.say(f"{wording.sentence(checklist.title)}")
        flow.reask(turn)
        return
    _break_off(turn, checklist.abort)


def _abort_between(turn: Turn) -> None:
    closed = turn.state.closed
    target = turn.aircraft.list(closed[-1].list_id).abort if closed else ""
    if target:
        _break_off(turn, target)
    else:
        turn.hush()
        turn.remark("No list is running.")


def call_procedure(turn: Turn) -> None:
    """An abort or emergency procedure called by its name."""
    target = turn.input.argument
    if turn.state.run is not None and turn.run.list_id == target:
        turn.hush()
        flow.reask(turn)
        return
    _break_off(turn, target)


def _break_off(turn: Turn, target: str) -> None:
    turn.hush()
    alerts.act_on(turn)
    turn.tone(ToneKind.WARNING)
    if turn.state.run is not None:
        title = turn.checklist.title
        closing.leave_list(turn, "aborted")
        turn.say(wording.sentence(f"{title} aborted"))
    turn.set(plan=(), last=None, back_to=None, doubt=None, overriding=None, wanted="")
    if target:
        flow.open_list(turn, target, forced=False)
    else:
        closing.offer(turn)


def open_next(turn: Turn) -> None:
    """The next list of the plan."""
    plan = turn.state.plan
    turn.hush()
    if plan:
        flow.open_list(turn, plan[0])
    else:
        closing.offer(turn)


def open_named(turn: Turn) -> None:
    """A list by its name."""
    turn.hush()
    flow.open_list(turn, turn.input.argument)


def end_session(turn: Turn) -> None:
    """The pilot ends it."""
    turn.hush()
    closing.end(turn, "ended by the pilot")
