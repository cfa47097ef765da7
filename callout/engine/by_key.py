"""A key or pedal in place of the voice: it can say that something is so, and no more.

Rule of this file: a key knows nothing of what it answers. It stands for the one
right answer of an ordinary item that was asked to its end; never for a killer
item (invariant 2), for a value (4), for a choice, or for anything asked back.
"""

from __future__ import annotations

from dataclasses import replace

from callout.checklist.model import Ask, Choose
from callout.engine import answers, commands, holding
from callout.engine.effects import ToneKind
from callout.engine.events import Key
from callout.engine.rules import State
from callout.engine.turn import Turn


def affirm_item(turn: Turn) -> None:
    """The right answer of the item in hand, unless a key may not give it."""
    task = turn.item.task
    if not _heard_out(turn):
        _too_soon(turn)
    elif turn.item.killer:
        _refuse(turn, "A key cannot answer a killer item. Say the answer.")
    elif isinstance(task, Choose):
        _refuse(turn, "A key cannot choose. Say which.")
    elif not isinstance(task, Ask):
        _refuse(turn, "A key cannot give a value. Say the value.")
    else:
        turn.input = replace(turn.input, argument=task.answers[0])
        answers.take_answer(turn)


def affirm_next(turn: Turn) -> None:
    """Between lists: proceed with the next one, when it was offered to the end."""
    if not _heard_out(turn):
        _too_soon(turn)
    elif turn.state.wanted or not turn.state.plan:
        _refuse(turn, "A key cannot choose a list. Say open and its name.")
    else:
        commands.open_next(turn)


def affirm_resume(turn: Turn) -> None:
    """What stands still goes on, and asks again."""
    if turn.state.mode is State.HOLDING:
        holding.resume(turn)
    else:
        holding.leave_stand_by(turn)


def refuse_key(turn: Turn) -> None:
    """Here words are wanted, or nothing is."""
    nothing_asked = turn.state.mode in (State.ADVISING, State.TIMING)
    _refuse(turn, "Nothing to answer." if nothing_asked else "A key does not count here. Say it.")


def _heard_out(turn: Turn) -> bool:
    """Whether the key was pressed after what was asked had been said to its end.

    Words may come before: they tell what they answer, a key does not.
    """
    event, ended = turn.event, turn.state.prompt_ended_at
    assert isinstance(event, Key)
    return turn.state.prompt_say is None and ended is not None and event.at >= ended


def _too_soon(turn: Turn) -> None:
    turn.record("key too soon", words=turn.input.text)
    turn.tone(ToneKind.NOT_UNDERSTOOD)


def _refuse(turn: Turn, why: str) -> None:
    """Said beside the list: what is being said goes on, and what was asked stays asked."""
    turn.record("refused", words=turn.input.text, why=why)
    turn.tone(ToneKind.NOT_UNDERSTOOD)
    turn.remark(why)
