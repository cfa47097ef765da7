"""Open squawks, told without being asked for: when a session begins, at their station, as a bar.

Rule of this file: it says and writes down, and decides only whether a grounded
aircraft's list opens. What says it knows nothing of the flow of a list.
"""

from __future__ import annotations

from dataclasses import replace

from callout.checklist.model import CheckList, ListKind
from callout.engine import wording_squawks
from callout.engine.events import SessionOpened
from callout.engine.squawk_state import Known, Squawks, closed_lists
from callout.engine.turn import Turn


def recall(turn: Turn) -> None:
    """The session begins with those that past ones left open: one short sentence."""
    event = turn.event
    told = event.squawks if isinstance(event, SessionOpened) else ()
    known = tuple(Known(*one) for one in told)
    if isinstance(event, SessionOpened) and event.recorded:
        turn.record("session recorded", "")
        turn.say(wording_squawks.RECORDED)
    if not known:
        return
    first = next((one for one in known if one.grounds), known[0])
    turn.set(squawks=Squawks(open=known, in_hand=first.key))
    grounds = "; ".join(one.key for one in known if one.grounds)
    turn.record("squawks told", "", open="; ".join(one.key for one in known), grounds=grounds)
    turn.say(wording_squawks.at_begin(known))


def read_here(turn: Turn) -> None:
    """Those of the station of the item in hand, before its call; once a session.

    Not in a procedure, nor while an engine state holds: nobody stands at a station then.
    """
    checklist, item = turn.checklist, turn.item
    if checklist.kind is not ListKind.NORMAL or checklist.engine_state != "any":
        return
    about = f"{checklist.id}/{item.id}"
    for known in turn.state.squawks.open:
        here = known.where == item.where if known.where else known.about == about
        if here and not known.read:
            turn.say(wording_squawks.read(known))
            turn.record("squawk read", about, squawk=known.key)
            squawks = turn.state.squawks.put(replace(known, read=True))
            turn.set(squawks=replace(squawks, in_hand=known.key))


def grounding(turn: Turn, checklist: CheckList) -> tuple[Known, ...]:
    """The squawks that keep a list from being opened."""
    closed = checklist.id in closed_lists(turn.aircraft)
    return turn.state.squawks.grounding if closed else ()


def refuse(turn: Turn, checklist: CheckList) -> str:
    """Why a list does not open; "" if no squawk says so."""
    found = grounding(turn, checklist)
    if not found:
        return ""
    turn.record("list grounded", checklist.id, squawks="; ".join(one.key for one in found))
    return wording_squawks.refusal(found)
