"""Taking back what was said: correction with an answer, and back to the last item.

Rule of this file: what is corrected is open again before anything else is done
about it, so a correction that fails leaves an open item, never the old tick.
"""

from __future__ import annotations

from dataclasses import replace

from callout.engine import answers, flow, marks
from callout.engine.effects import ToneKind
from callout.engine.state import LastAct
from callout.engine.turn import Turn


def correct_answer(turn: Turn) -> None:
    """`correction` with an answer of the last item: replaces what was said for it."""
    last = turn.state.last
    assert last is not None
    marks.reopen(turn, last.item, "correction")
    turn.hush()
    _retake(turn, last.item)
    answers.tick(turn, turn.input.argument)
    turn.tone(ToneKind.HEARD)
    flow.advance(turn)


def _retake(turn: Turn, index: int) -> None:
    """Back to an item that was answered before; its call was said long ago.

    The timer of the item that was in hand runs on: a correction buys no time.
    """
    here, timer = turn.state.item, turn.state.timer
    aside = (here, timer) if here is not None and timer is not None else None
    turn.set(aside=aside)
    turn.set(item=index, timer=None, doubt=None, held_since=None, queried=True)
    turn.set(mode=flow.item_state(turn.item))


def correct_value(turn: Turn) -> None:
    """`correction` with a value: judged as the first one was."""
    last = turn.state.last
    assert last is not None
    marks.reopen(turn, last.item, "correction")
    _retake(turn, last.item)
    if turn.input.doubtful:
        answers.ask_which_value(turn)
    elif turn.input.values:
        answers.accept_value(turn, turn.input.values[0])
    else:
        answers.refuse_impossible(turn)


def back_to_last(turn: Turn, why: str) -> bool:
    """Reopen what the last utterance ticked and ask it again; False if there is nothing."""
    last = turn.state.last
    if last is None or not _in_reach(turn, last):
        return False
    if turn.run.marks[last.item] == last.before:
        return False
    marks.reopen(turn, last.item, why)
    turn.hush()
    flow.begin_item(turn, last.item)
    return True


def _in_reach(turn: Turn, last: LastAct) -> bool:
    """Whether the last act's list runs, or was closed just now and can be reopened."""
    state = turn.state
    if state.run is not None:
        return state.run.list_id == last.list_id
    if not state.closed or state.closed[-1].list_id != last.list_id:
        return False
    run = state.closed[-1]
    turn.set(run=replace(run, outcome=""), closed=state.closed[:-1])
    turn.record("list reopened", run.list_id)
    return True
