"""Leaving an item for later or open, and what the end of a list does about it.

Rule of this file: a killer item is never left by a word (invariant 2).
"""

from __future__ import annotations

from callout.engine import alerts, closing, flow, marks, wording
from callout.engine.rules import State
from callout.engine.state import Status, open_items
from callout.engine.turn import Turn


def defer(turn: Turn) -> None:
    """Put an item off until its list's next gate or end; never a killer item."""
    assert turn.state.item is not None
    if turn.item.killer:
        refuse(turn, "A killer item cannot be deferred. Say the answer, or override.")
    elif turn.run.marks[turn.state.item].status is Status.DEFERRED:
        refuse(turn, "Deferred once already. Say the answer, skip, or override.")
    else:
        marks.remember(turn)
        turn.mark(turn.state.item, Status.DEFERRED)
        turn.record("deferred")
        alerts.settle(turn)
        turn.hush()
        turn.say(wording.sentence(f"{turn.item.call} deferred"))
        flow.advance(turn)


def refuse(turn: Turn, why: str) -> None:
    """A command that may not be followed here."""
    turn.record("refused", words=turn.input.text, why=why)
    turn.hush()
    if turn.state.mode is State.ADVISING:
        turn.say(why)  # the advice is not done by saying something else
        flow.reask(turn)
    else:
        turn.ask(why, again=True)


def skip(turn: Turn) -> None:
    """Leave an item open and go on; never a killer item, never at a gate."""
    assert turn.state.item is not None
    index = turn.state.item
    if turn.item.killer:
        refuse(turn, "A killer item cannot be skipped. Say the answer, or override.")
    elif turn.run.marks[index].status is Status.DEFERRED and _before_gate(turn, index):
        refuse(turn, "It was deferred to this gate. Say the answer, or override.")
    else:
        marks.remember(turn)
        turn.mark(index, Status.SKIPPED)
        marks.leave_choice_open(turn)
        turn.record("skipped")
        alerts.settle(turn)
        turn.hush()
        turn.say(wording.sentence(f"{turn.item.call} left open"))
        flow.advance(turn)


def _before_gate(turn: Turn, index: int) -> bool:
    pairs = list(zip(turn.items, turn.run.marks, strict=True))[index + 1 :]
    return any(item.gate and mark.status is Status.PENDING for item, mark in pairs)


def review_open(turn: Turn) -> None:
    """At a list's end: the open items are asked again."""
    for item in open_items(turn.aircraft, turn.state):
        index = turn.items.index(item)
        if turn.run.marks[index].status is Status.SKIPPED:
            marks.reopen(turn, index, "go back")
    turn.hush()
    flow.advance(turn)


def leave_open(turn: Turn) -> None:
    """Proceed with items open; a killer item among them forbids it."""
    killers = tuple(i for i in open_items(turn.aircraft, turn.state) if i.killer)
    turn.hush()
    if killers:
        text = f"Killer item open: {wording.names(killers)}. Say go back, or override."
        turn.record("refused", words=turn.input.text, why=text)
        turn.ask(text, again=True)
        return
    closing.close_list(turn)
