"""The end of a list, and what is between lists.

Rule of this file: a list is called complete only if nothing that applies is
open, deferred, skipped or overridden, however it is left (invariant 1); else
what is open is said by name.
"""

from __future__ import annotations

from dataclasses import replace

from callout.checklist.model import CheckList, Item, ListKind
from callout.engine import alerts, wording, wording_squawks
from callout.engine.rules import State
from callout.engine.squawk_state import closed_lists
from callout.engine.state import Status, open_items
from callout.engine.turn import Turn

OFFER_ANY = "Say open and the name of a list, or end session."


def review(turn: Turn) -> None:
    """The end was reached with items open: say which."""
    left = open_items(turn.aircraft, turn.state)
    turn.set(mode=State.REVIEWING, item=None, timer=None)
    turn.ask(wording.not_complete(turn.checklist, left, ()) + " Say go back, or proceed.")


def overridden(turn: Turn) -> tuple[Item, ...]:
    """Items of the running list that were overridden."""
    pairs = zip(turn.items, turn.run.marks, strict=True)
    return tuple(item for item, mark in pairs if mark.status is Status.OVERRIDDEN)


def close_list(turn: Turn) -> None:
    """The completion call, or the names of what is open; then what is next."""
    left, forced = open_items(turn.aircraft, turn.state), overridden(turn)
    whole = not left and not forced and not turn.run.forced
    checklist = turn.checklist
    turn.set(item=None)
    leave_list(turn, "complete" if whole else "not complete")
    turn.say(
        wording.complete(checklist) if whole else wording.not_complete(checklist, left, forced)
    )
    _say_grounded(turn, checklist)
    if checklist.kind is ListKind.NORMAL and not turn.state.plan:
        end(turn, "all lists done")
    else:
        offer(turn)


def _say_grounded(turn: Turn, checklist: CheckList) -> None:
    """A list of a start that was run all the same does not end without a word of it."""
    if turn.state.squawks.grounding and checklist.id in closed_lists(turn.aircraft):
        turn.say(wording_squawks.refusal(turn.state.squawks.grounding))


def leave_for_another(turn: Turn) -> None:
    """A list goes over into another one: called as at its end.

    What stands after the place where it is left was not reached and is not named.
    """
    assert turn.state.item is not None
    left, forced = open_items(turn.aircraft, turn.state), overridden(turn)
    before = tuple(item for item in left if turn.items.index(item) < turn.state.item)
    checklist = turn.checklist
    if not left and not forced and not turn.run.forced:
        leave_list(turn, "complete")
        turn.say(wording.complete(checklist))
    elif before or forced or turn.run.forced:
        leave_list(turn, "not complete")
        turn.say(wording.not_complete(checklist, before, forced))
    else:
        leave_list(turn, "left")
        turn.say(wording.left(checklist))
    _say_grounded(turn, checklist)


def leave_list(turn: Turn, outcome: str) -> None:
    """File the running list under its outcome, open items by name."""
    left = open_items(turn.aircraft, turn.state)
    data = {"open": "; ".join(item.id for item in left)} if left else {}
    forced = overridden(turn)
    if forced:
        data["overridden"] = "; ".join(item.id for item in forced)
    turn.record(f"list {outcome}", turn.run.list_id, **data)
    closed = (*turn.state.closed, replace(turn.run, outcome=outcome))
    turn.set(closed=closed, run=None, item=None, timer=None, held_since=None)


def offer(turn: Turn) -> None:
    """Between lists: name the next one."""
    turn.set(mode=State.READY, item=None)
    plan = turn.state.plan
    turn.ask(wording.next_list(turn.aircraft.list(plan[0])) if plan else OFFER_ANY)


def end(turn: Turn, why: str) -> None:
    """The session is over."""
    left = {"not run": "; ".join(turn.state.plan)} if turn.state.plan else {}
    alerts.leave(turn)
    turn.record("session ended", "", why=why, **left)
    turn.say("Session ended.")
    turn.set(mode=State.ENDED, answer_due=None, timer=None)
