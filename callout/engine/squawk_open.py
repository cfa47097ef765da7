"""Open squawks by voice: played, gone through, closed, grounding the aircraft.

Rule of this file: a squawk is closed by two utterances, the second of which says
how. Nothing here ticks an item, and what is played out of a recording counts for
nothing that is said: only what is always heard counts while it sounds.
"""

from __future__ import annotations

from dataclasses import replace

from callout.engine import flow, wording_squawks
from callout.engine.effects import Priority, ToneKind
from callout.engine.events import Heard, Key, SpeechEnded
from callout.engine.rules import State, Trigger
from callout.engine.squawk_state import LONGEST, Known, Playing, Undo, closed_lists
from callout.engine.turn import Turn, longest_saying


def play_squawk(turn: Turn) -> None:
    """The recording of the one in hand; without one, what is written of it."""
    known = _hand(turn)
    turn.record("squawk played", known.about, squawk=known.key)
    turn.hush()
    if not known.sound:
        turn.say(wording_squawks.read(known))
        flow.reask(turn)
        return
    number = turn.say(f"Squawk {known.called}.", clip=known.key)
    until = turn.now + LONGEST + longest_saying("")
    turn.set(squawks=replace(turn.state.squawks, playing=Playing(number, until)))
    if turn.state.answer_due is not None:
        turn.set(answer_due=max(until, turn.state.answer_due))


def sounded(turn: Turn) -> None:
    """A sentence was said to its end: if it was the recording, the list goes on."""
    event, playing = turn.event, turn.state.squawks.playing
    if isinstance(event, SpeechEnded) and playing is not None and event.say == playing.say:
        turn.set(squawks=replace(turn.state.squawks, playing=None))
        if turn.state.mode in ASKS:
            flow.reask(turn)


ASKS = frozenset(
    {State.ASKING, State.ADVISING, State.TIMING, State.AWAITING, State.REVIEWING, State.READY}
)
"""States in which what was asked is asked again after a recording."""


def next_squawk(turn: Turn) -> None:
    """The next open one is in hand, and is read."""
    squawks = turn.state.squawks
    keys = [one.key for one in squawks.open]
    at = keys.index(_hand(turn).key)
    known = squawks.open[(at + 1) % len(keys)]
    turn.set(squawks=replace(squawks, in_hand=known.key))
    turn.record("squawk read", known.about, squawk=known.key)
    turn.hush()
    turn.say(wording_squawks.read(known))
    flow.reask(turn)


def close_squawk(turn: Turn) -> None:
    """First utterance: ask how."""
    known = _hand(turn)
    turn.set(mode=State.CLOSING_SQUAWK, doubt=None, overriding=None)
    turn.hush()
    turn.ask(wording_squawks.ask_how(known), again=True)


def take_how(turn: Turn) -> None:
    """Second utterance: closed, with how and by whom written down."""
    known, how = _hand(turn), turn.input.argument
    by = turn.event.source if isinstance(turn.event, Heard) else ""
    turn.record("squawk closed", known.about, squawk=known.key, how=how, by=by)
    squawks = replace(turn.state.squawks.without(known.key), undo=Undo(known, closed=True))
    turn.set(squawks=squawks)
    turn.hush()
    turn.tone(ToneKind.HEARD)
    turn.say(wording_squawks.closed(known, how, lost=turn.state.squawks.lost))
    flow.reask(turn)


def keep_open(turn: Turn) -> None:
    """Negative: it stays open."""
    turn.hush()
    flow.reask(turn)


def ground(turn: Turn) -> None:
    """The squawk in hand grounds the aircraft: lists of a start open by override only."""
    known = _hand(turn)
    grounding = replace(known, grounds=True)
    turn.record("aircraft grounded", known.about, squawk=known.key)
    undo = None if known.grounds else Undo(known, closed=False)
    turn.set(squawks=replace(turn.state.squawks.put(grounding), undo=undo))
    turn.hush()
    turn.tone(ToneKind.CAUTION)
    turn.say(wording_squawks.grounded(turn.aircraft, grounding), Priority.CAUTION)
    run = turn.state.run
    if run is not None and run.list_id in closed_lists(turn.aircraft):
        turn.set(run=replace(run, forced=True))
        turn.say(wording_squawks.running_grounded(turn.checklist.title), Priority.CAUTION)
    flow.reask(turn)


def undo(turn: Turn) -> bool:
    """Disregard: what the last utterance did to a squawk is undone; whether it did anything."""
    last = turn.state.squawks.undo
    if last is None:
        return False
    known = last.before
    fact = "squawk reopened" if last.closed else "grounding taken back"
    turn.record(fact, known.about, squawk=known.key)
    squawks = turn.state.squawks.put(known)
    turn.set(squawks=replace(squawks, undo=None, in_hand=known.key))
    turn.hush()
    turn.say(f"Squawk {known.called} open.")
    flow.reask(turn)
    return True


def forget_undo(turn: Turn) -> None:
    """Another utterance is the last one now."""
    last = (Trigger.DISREGARD, Trigger.ROGER, Trigger.LATE)
    spoken = isinstance(turn.event, Heard | Key) and turn.input.trigger not in last
    if spoken and turn.state.squawks.undo is not None:
        turn.set(squawks=replace(turn.state.squawks, undo=None))


def _hand(turn: Turn) -> Known:
    known = turn.state.squawks.hand
    assert known is not None  # the words are in the grammar only with one in hand
    return known
