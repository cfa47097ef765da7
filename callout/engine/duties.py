"""What runs beside the lists: counters, cool-down, run-down, in every step.

Rule of this file: it hands on, and decides nothing: facts of this step, readings,
deadlines and words, each to the file whose they are.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from callout.checklist.model import Aircraft
from callout.engine import cooldown, counters_session, duties_due, rundown, wording_duties
from callout.engine.duties_times import POWER, STANDSTILL
from callout.engine.effects import Record
from callout.engine.events import FeedFault, Lost, Reading, Resumed, SessionOpened
from callout.engine.state import SessionState
from callout.engine.turn import Turn


def recall(turn: Turn) -> None:
    """The session begins with what past ones counted."""
    event = turn.event
    told = event.tallies if isinstance(event, SessionOpened) else ()
    past = event.run_downs if isinstance(event, SessionOpened) else ()
    counters_session.recall(turn, told)
    dues, wall = (event.dues, event.wall) if isinstance(event, SessionOpened) else ((), 0.0)
    duties_due.recall(turn, dues, wall)
    turn.set(duties=replace(turn.state.duties, past=past, since=turn.now))
    back = isinstance(event, SessionOpened) and event.clock_set_back
    if back and counters_session.resting(turn):
        turn.record("clock set back", "")
        turn.say(wording_duties.CLOCK_SET_BACK)


def follow(turn: Turn) -> None:
    """Facts written down in this step and not looked at yet: once each."""
    while turn.followed < len(turn.effects):
        fact = turn.effects[turn.followed]
        turn.followed += 1
        if isinstance(fact, Record) and not _said_again(turn, fact):
            counters_session.follow(turn, fact)
            duties_due.follow(turn, fact)
            cooldown.follow(turn, fact)
            rundown.follow(turn, fact)


def _said_again(turn: Turn, fact: Record) -> bool:
    """Whether a tick is reopened only to be ticked in this very step: it stayed done."""
    if fact.fact not in ("reopened", "ticked"):
        return False
    about = [one for one in turn.effects if isinstance(one, Record) and one.about == fact.about]
    both = [one for one in about if one.fact in ("reopened", "ticked")]
    return [one.fact for one in both] == ["reopened", "ticked"] and (
        ("status", "ticked") in both[0].data
    )


def end_step(turn: Turn) -> None:
    """After the action of a step."""
    event = turn.event
    if isinstance(event, Resumed):  # time that nobody watched gives nothing back
        since = min(turn.now, turn.state.duties.since + event.gap)
        turn.set(duties=replace(turn.state.duties, since=since))
        cooldown.nobody_watched(turn)
        counters_session.unsure(turn)
        if event.others:
            counters_session.recall(turn, event.tallies)
            duties_due.recall(turn, event.dues, turn.state.duties.wall)
    elif isinstance(event, Lost) and event.part == "feed":
        cooldown.unsure(turn)
        counters_session.unsure(turn)
    elif isinstance(event, FeedFault):
        cooldown.unsure(turn, event.gauge)
        counters_session.unsure(turn, event.gauge)
    if not turn.effects:
        return
    follow(turn)
    counters_session.watch_state(turn)
    follow(turn)
    beside = tuple(_beside(turn.aircraft, turn.state))
    if beside != turn.state.beside:
        turn.set(beside=beside)


def _beside(aircraft: Aircraft, state: SessionState) -> Iterator[str]:
    if cooldown.listened_for(aircraft, state):
        yield POWER
    if rundown.listened_for(aircraft, state):
        yield STANDSTILL


def heard_beside(turn: Turn) -> None:
    """Words that count beside the lists."""
    if turn.input.argument == POWER:
        cooldown.raised(turn)
    else:
        rundown.standstill_said(turn)


def read(turn: Turn) -> None:
    """A reading: before what the list makes of it."""
    event = turn.event
    assert isinstance(event, Reading)
    counters_session.read(turn, event.gauge, event.value)
    cooldown.read(turn, event.gauge, event.value)
    rundown.read(turn, event.gauge, event.value, measured=True)


def called_out(turn: Turn, gauge: str, value: Decimal) -> None:
    """A value that the pilot calls."""
    cooldown.called_out(turn, gauge, value)
    rundown.read(turn, gauge, value, measured=False)


def duty_due(turn: Turn) -> None:
    """A deadline of one of them has come."""
    cooldown.call_due(turn)
    counters_session.call_due(turn)
    counters_session.rest_over(turn)
