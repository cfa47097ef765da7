"""Passing an item, or a list's needs, without its answer: two utterances and a reason.

Rule of this file: nothing is overridden by one utterance. "override" asks for
the reason, the reason is read back, "confirm override" does it; the list is
then never complete (invariant 2). The gate of a list is not overridden at all:
killer items that it needs by name are answered first.
"""

from __future__ import annotations

from callout.engine import alerts, counters_session, flow, marks, squawk_reading, wording
from callout.engine.effects import ToneKind
from callout.engine.rules import State
from callout.engine.state import Overriding, Status, open_items
from callout.engine.turn import Turn


def ask_override(turn: Turn) -> None:
    """First utterance: ask for the reason."""
    state = turn.state
    if state.run is not None:
        _begin(turn, Overriding(state.run.list_id, state.item), turn.item.call)
    elif state.wanted:
        checklist = turn.aircraft.list(state.wanted)
        shut = flow.gate(turn, flow.unmet(turn, checklist))
        if shut:
            turn.record("refused", checklist.id, words=turn.input.text, why="; ".join(shut))
            turn.hush()
            first = f"No override of {', '.join(shut)} before {checklist.title}"
            turn.ask(f"{wording.sentence(first)} Say open and the name of a list.", again=True)
            return
        subject = Overriding(state.wanted, None)
        _begin(turn, subject, _name(turn, subject))
    else:
        turn.remark("Nothing to override.")


def override_open(turn: Turn) -> None:
    """At a list's end: the first open item, a killer item before others."""
    left = open_items(turn.aircraft, turn.state)
    item = next((one for one in left if one.killer), left[0])
    _begin(turn, Overriding(turn.run.list_id, turn.items.index(item)), item.call)


def _begin(turn: Turn, subject: Overriding, name: str) -> None:
    turn.set(overriding=subject, mode=State.REASONING)
    turn.record("override asked", _about(turn, subject))
    turn.hush()
    reasons = ", ".join(turn.aircraft.settings.reasons)
    turn.ask(f"Override {name}. Say the reason: {reasons}. Or negative.", again=True)


def _about(turn: Turn, subject: Overriding) -> str:
    if subject.item is None:
        return subject.list_id
    return f"{subject.list_id}/{turn.items[subject.item].id}"


def take_reason(turn: Turn) -> None:
    """The reason is read back and the second utterance asked for."""
    subject = turn.state.overriding
    assert subject is not None
    reason = turn.input.argument
    turn.set(
        overriding=Overriding(subject.list_id, subject.item, reason),
        mode=State.CONFIRMING_OVERRIDE,
    )
    turn.hush()
    name = _name(turn, subject)
    turn.ask(f"Override {name}, {reason}. Say confirm override, or negative.", again=True)


def _name(turn: Turn, subject: Overriding) -> str:
    checklist = turn.aircraft.list(subject.list_id)
    if subject.item is None:
        if squawk_reading.grounding(turn, checklist):
            return f"the grounding, for {checklist.title}"
        return f"what {checklist.title} needs first"
    return tuple(checklist.items())[subject.item].call


def override(turn: Turn) -> None:
    """Second utterance: done, with its reason written down."""
    subject = turn.state.overriding
    assert subject is not None
    turn.hush()
    turn.tone(ToneKind.CAUTION)
    if subject.item is None:
        missing = flow.unmet(turn, turn.aircraft.list(subject.list_id))
        needs = "; ".join(f"{need.list_id}/{need.item}".rstrip("/") for need in missing)
        resting = counters_session.broken(turn, turn.aircraft.list(subject.list_id))
        counts = {"duty": "; ".join(resting)} if resting else {}
        grounding = squawk_reading.grounding(turn, turn.aircraft.list(subject.list_id))
        if grounding:
            counts["squawks"] = "; ".join(one.key for one in grounding)
        turn.record("overridden", subject.list_id, reason=subject.reason, needs=needs, **counts)
        turn.set(overriding=None)
        flow.open_list(turn, subject.list_id, forced=True)
        return
    turn.set(item=subject.item)
    marks.remember(turn)
    turn.mark(subject.item, Status.OVERRIDDEN, subject.reason)
    marks.leave_choice_open(turn)
    turn.record("overridden", reason=subject.reason)
    alerts.settle(turn)
    turn.say(wording.sentence(f"{turn.item.call} overridden, {subject.reason}"))
    turn.set(overriding=None)
    flow.advance(turn)


def drop_override(turn: Turn) -> None:
    """Negative: as if it had not been said."""
    turn.record("override dropped")
    turn.hush()
    flow.reask(turn)
