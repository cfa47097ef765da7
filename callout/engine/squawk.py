"""A squawk: what the pilot says about a defect, recorded until he ends it.

Rule of this file: while one is recorded nothing that is said ticks, commands or
advances anything. "end squawk", ten seconds without a word, or two minutes end it,
and the list stands where it stood. Say again and help are answered and the
recording goes on, as it does through warnings. Disregard takes the squawk back.
Stand by, abort, a procedure's name, a key that holds the list (as for a phone out
of reach) and whatever opens a list by itself end it in the same step: the squawk is
kept, the state that it interrupted is back, and the rule of that state is carried out
as if nobody had spoken (invariant 8).
"""

from __future__ import annotations

from dataclasses import replace

from callout.engine import flow, holding, wording_squawks
from callout.engine.effects import Keep, Priority
from callout.engine.events import Heard, Key, Noted, NotUnderstood, Resumed
from callout.engine.rules import ITEM_STATES, State, Trigger, rule_for
from callout.engine.squawk_state import LAST_WRITTEN, LONGEST, LONGEST_NOTE, Known, Recording
from callout.engine.turn import Turn

STAYS = ITEM_STATES | {State.READY, State.REVIEWING, State.STANDING_BY, State.HOLDING}
"""States that a squawk leads back to; out of a question asked back, to its item."""

BREAKS = frozenset(
    {
        Trigger.STAND_BY,
        Trigger.ABORT,
        Trigger.CALL_PROCEDURE,
        Trigger.TIME_MISSED,
        Trigger.RESIDUAL_FIRE,
        Trigger.START_FAULT,
        Trigger.CAME_BACK,
        Trigger.STOPPED,
    }
)
"""What ends a squawk and is then done as in the state that it interrupted."""


SAID_KEPT = "squawk kept"
"""What the sentence is about that says so: where it turns out untrue it is not said."""


def open_squawk(turn: Turn) -> None:
    """From the end of the word on, the sound is kept."""
    state, event = turn.state, turn.event
    began = event.ended if isinstance(event, Heard) else turn.now
    number = str(state.squawks.opened + 1)
    item = turn.item if state.run is not None and state.item is not None else None
    where, called = (item.where, item.call) if item is not None else ("", flow.name_of_place(turn))
    by_keys = isinstance(event, Heard) and event.source == "keys"
    known = Known(number, turn.about, where, called, sound=not by_keys, read=True)
    turn.record("squawk opened", squawk=number, where=where, called=called)
    turn.hush()
    back, prompt = _interrupted(turn), state.prompt
    recording = Recording(known, began, turn.now, turn.now, back, prompt)
    squawks = replace(state.squawks, recording=recording, opened=state.squawks.opened + 1)
    turn.set(squawks=squawks, mode=State.SQUAWKING)
    turn.effects.append(Keep(number, began))
    turn.ask(wording_squawks.GO_AHEAD_LOST if squawks.lost else wording_squawks.GO_AHEAD)


def _interrupted(turn: Turn) -> State:
    mode = turn.state.mode
    if mode in STAYS:
        return mode
    turn.set(doubt=None, overriding=None)
    if turn.state.run is None:
        return State.READY
    return State.REVIEWING if turn.state.item is None else flow.item_state(turn.item)


def talk(turn: Turn) -> None:
    """Words that count for nothing but being recorded."""
    event = turn.event
    if isinstance(event, NotUnderstood | Heard):
        _spoken(turn)


def note(turn: Turn) -> None:
    """A typed line is kept with it, as it stands."""
    event, recording = turn.event, turn.state.squawks.recording
    assert isinstance(event, Noted)
    assert recording is not None
    text = " ".join(event.text.split())[:LONGEST_NOTE]
    known = recording.squawk
    turn.record("squawk noted", known.about, squawk=known.key, text=text, by="typed")
    whole = f"{known.text} {text}".strip()
    recording = replace(recording, squawk=replace(known, text=whole, kind="typed"))
    turn.set(squawks=replace(turn.state.squawks, recording=recording))
    turn.show(text, "pilot")
    _spoken(turn)


def _spoken(turn: Turn) -> None:
    recording = turn.state.squawks.recording
    assert recording is not None
    recording = replace(recording, spoken_at=turn.now)
    turn.set(squawks=replace(turn.state.squawks, recording=recording))


def end_squawk(turn: Turn) -> None:
    """The pilot ended it: back to where the list stood."""
    recording = _finish(turn, "said")
    turn.hush()
    _say_kept(turn, wording_squawks.KEPT)
    _back(turn, recording)


def _say_kept(turn: Turn, kept: str) -> None:
    """That it is kept, or that there is nothing left to keep it in."""
    text = wording_squawks.NOT_KEPT if turn.state.squawks.lost else kept
    turn.say(text, about=SAID_KEPT)


def logbook_lost(turn: Turn) -> None:
    """What was said of the squawk in hand holds no more, if its last was not written yet."""
    squawks, told = turn.state.squawks, turn.state.squawks.lost
    turn.set(squawks=replace(squawks, lost=True))
    if squawks.recording is not None:
        turn.say(wording_squawks.GO_AHEAD_LOST, Priority.CAUTION)
    elif squawks.ended_at is not None and turn.now - squawks.ended_at < LAST_WRITTEN and not told:
        turn.forget(SAID_KEPT)
        turn.say(wording_squawks.NOT_KEPT, Priority.CAUTION)


def squawk_over(turn: Turn) -> None:
    """Nobody spoke for a while, or it has become too long: kept, and said so."""
    old = turn.state.squawks.recording
    assert old is not None
    heard = old.spoken_at > old.asked_at
    recording = _finish(turn, "longest" if turn.now - old.began >= LONGEST else "silence")
    turn.hush()
    _say_kept(turn, wording_squawks.KEPT if heard else wording_squawks.NONE_HEARD)
    _back(turn, recording)


def take_back(turn: Turn) -> None:
    """Disregard: as if "squawk" had not been said; nothing of it is kept."""
    recording = turn.state.squawks.recording
    assert recording is not None
    known = recording.squawk
    turn.record("squawk dropped", known.about, squawk=known.key)
    turn.effects.append(Keep(known.key, recording.began, turn.now, drop=True))
    turn.set(squawks=replace(turn.state.squawks, recording=None))
    _restore(turn, recording)
    turn.hush()
    turn.say(wording_squawks.DROPPED)
    _back(turn, recording)


def breaks(turn: Turn) -> bool:
    """Whether this ends a squawk: also a key that holds a list which could go on by itself."""
    recording, trigger = turn.state.squawks.recording, turn.input.trigger
    if isinstance(turn.event, Key) and trigger is Trigger.HOLD and recording is not None:
        return rule_for(recording.back, trigger) is not None
    return trigger in BREAKS


def break_off(turn: Turn, trigger: Trigger) -> None:
    """What cannot wait ends it: kept, and the state is the one that it interrupted."""
    recording = _finish(turn, trigger.value)
    turn.set(mode=recording.back)
    if isinstance(turn.event, Resumed):
        turn.say(wording_squawks.broken_off(turn.event.recorded))


def _finish(turn: Turn, how: str) -> Recording:
    """It stands among the open ones from now on; its last words are not part of it."""
    recording, event = turn.state.squawks.recording, turn.event
    assert recording is not None
    known = recording.squawk
    until = event.began if isinstance(event, Heard) else turn.now
    if isinstance(event, Resumed):
        until = recording.began + event.recorded
        known = replace(known, sound=event.recorded > 0)
    until = max(recording.began, until)
    times = {"began": f"{recording.began:.2f}", "until": f"{until:.2f}"}
    turn.record("squawk kept", known.about, squawk=known.key, how=how, **times)
    turn.effects.append(Keep(known.key, recording.began, turn.now))
    squawks = replace(
        turn.state.squawks.put(known), recording=None, in_hand=known.key, ended_at=turn.now
    )
    turn.set(squawks=squawks)
    _restore(turn, recording)
    return recording


def _restore(turn: Turn, recording: Recording) -> None:
    """The sentence that an answer was due to, so that say again says it."""
    turn.set(prompt=recording.prompt, prompt_say=None, prompt_ended_at=turn.now)


def _back(turn: Turn, recording: Recording) -> None:
    """The list stands where it stood; what went stale meanwhile is asked again."""
    turn.set(mode=recording.back, answer_due=None)
    if recording.back is State.STANDING_BY:
        turn.say(f"Standing by at {flow.name_of_place(turn)}.")
    elif recording.back is State.HOLDING:
        turn.say(f"Holding at {flow.name_of_place(turn)}.")
    else:
        holding.go_on(turn)
