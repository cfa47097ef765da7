"""A pilot who answers everything right, item by item, to the end of the flying day."""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.model import Aircraft
from callout.engine import events as ev
from callout.engine.answers import wanted_band
from callout.engine.grammar import gauge_of
from callout.engine.rules import State
from callout.engine.session import Session
from callout.words.say_numbers import say_digits


def walk(plane: Aircraft) -> Iterator[tuple[str, str]]:
    """A pilot who answers everything right, to the end of the flying day."""
    session = Session(plane)
    now = 0.0
    session.handle(ev.SessionOpened(()), now)
    while not session.ended:
        now = one_right_answer(session, plane, now)
        state = session.state
        yield state.mode.value, state.run.list_id if state.run else ""


def one_right_answer(session: Session, plane: Aircraft, now: float) -> float:
    """Hear the call out, look, answer; returns the session time after it (s)."""
    now += 2.0
    state = session.state
    if state.prompt_say is not None:
        session.handle(ev.SpeechEnded(state.prompt_say), now)
        if session.state.item != state.item or session.ended:
            return now
    if session.state.mode is State.TIMING:
        now = max(now, session.next_deadline() or now)
        session.handle(ev.Clock(), now)
        return now
    now += 4.0
    grammar = session.state.grammar
    text = right_value(session, plane) or next(
        p.text
        for p in grammar.phrases
        if p.means.startswith(("answer", "option")) or p.means == "word:PROCEED"
    )
    session.handle(ev.Heard(text, 1.0, grammar.serial, now, now + 0.5, "test"), now + 0.5)
    return now + 0.5


def right_value(session: Session, plane: Aircraft) -> str:
    """The lowest value that the item in hand takes; "" if it takes none."""
    state = session.state
    if state.run is None or state.item is None:
        return ""
    item = tuple(plane.list(state.run.list_id).items())[state.item]
    gauge = gauge_of(plane, item)
    if gauge is None:
        return ""
    band = wanted_band(item)
    low = band.at_least if band.at_least is not None else gauge.possible.at_least
    assert low is not None
    return say_digits(low)
