"""Everything that can befall a session in one state, in classes: one move for each.

Rule of this file: a class is what the engine can tell apart. Of the forms of one word,
and of the values between two limits, the first stands for all; the reasons that can be
given are one class (rules.py has one rule for all of them), and so are wrong answers;
answers, options, lists to open and procedures are not.

Times: an utterance begins three seconds after what was last (longer than anybody is
asked to look), or just before the next deadline if that is sooner; the right answer
comes at once, too. Silence is the next deadline.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from states_key import JUST

from callout.checklist.model import Aircraft, Await, Gauge, Item
from callout.engine import events as ev
from callout.engine import timers
from callout.engine.answers import wanted_band
from callout.engine.grammar import gauge_of, last_item
from callout.engine.limits import Level, judge, limits_now
from callout.engine.state import SessionState, current, engine_state
from callout.words.phrases import Grammar, NumberSlot
from callout.words.resolve import Outcome
from callout.words.say_numbers import say_digits
from callout.words.understand import understand

LATER = 3.0
"""Seconds: how long somebody looks before he answers."""

GONE = (5.0, 3600.0)
"""Seconds that the program was away: a moment, and long."""

ONE_CLASS = ("reason", "how", "start", "wrong")
"""Meanings whose argument only says which: the first stands for all."""

UNCERTAIN = ("fifteen", "fifty", "thirty", "sixty", "one fifty", "nine eighty")
"""Numbers that may have been others, in some range or other."""


class Move(NamedTuple):
    """What comes in, when (session seconds), and in words for people."""

    words: str
    event: ev.Event
    now: float


def moves(aircraft: Aircraft, state: SessionState) -> Iterator[Move]:
    """One of each class, in this state."""
    later = _before_the_next(aircraft, state)
    for text in _utterances(aircraft, state):
        yield _heard(state.grammar, text, later)
    yield from _answers_beside(state, later)
    yield from _time(aircraft, state)
    yield from _gauges(aircraft, state, later)
    for means in ev.KeyMeaning:
        yield Move(f"key {means.value}", ev.Key(means, later, "test"), later)
    for gone in GONE:
        now = state.now + gone
        yield Move(f"away {gone:g} s", ev.Resumed(gone, gone / 2), now)
    yield Move("microphone lost", ev.Lost("microphone", "gone"), later)
    yield Move("microphone back", ev.Restored("microphone"), later)
    yield Move("stopped", ev.Stopped("test"), later)


def _before_the_next(aircraft: Aircraft, state: SessionState) -> float:
    due = timers.next_deadline(aircraft, state)
    wanted = state.now + LATER
    return wanted if due is None else max(state.now + JUST, min(wanted, due - JUST))


def _heard(grammar: Grammar, text: str, now: float, sure: float = 1.0, back: int = 0) -> Move:
    event = ev.Heard(text, sure, grammar.serial - back, now - JUST / 2, now, "test")
    how = "" if sure == 1.0 else f" (certainty {sure:g})"
    return Move(f'"{text}"{how}{" late" if back else ""}', event, now)


def _utterances(aircraft: Aircraft, state: SessionState) -> Iterator[str]:
    seen = set()
    for phrase in state.grammar.phrases:
        kind = phrase.means.partition(":")[0]
        one = kind if kind in ONE_CLASS else phrase.means
        if one not in seen:
            seen.add(one)
            yield phrase.text
    for slot in state.grammar.numbers:
        yield from _numbers(aircraft, state, slot)
    yield "banana"


def _answers_beside(state: SessionState, later: float) -> Iterator[Move]:
    """The first answer at once, unsure, hardly heard, and too late; and what is no word."""
    grammar = state.grammar
    first = next((p.text for p in grammar.phrases if p.means.startswith(("answer", "option"))), "")
    if first:
        now = state.now + JUST
        yield _heard(grammar, first, now)._replace(words=f'"{first}" at once')
        yield _heard(grammar, first, later, 0.6)
        yield _heard(grammar, first, later, 0.3)
        yield _heard(grammar, first, later, back=1)
    unclear = ev.NotUnderstood("not in the grammar", "free", 0.99, grammar.serial, later, later)
    yield Move("not understood", unclear, later)


def _numbers(aircraft: Aircraft, state: SessionState, slot: NumberSlot) -> Iterator[str]:
    """In the range that is wanted, outside it, beyond what the gauge shows, and in doubt."""
    values = {slot.lowest, slot.highest}
    item = last_item(aircraft, state) if slot.before else _in_hand(aircraft, state)
    if item is not None and gauge_of(aircraft, item) is not None:
        band = wanted_band(item)
        values |= {end for end in (band.at_least, band.at_most) if end is not None}
    texts = [say_digits(value) for value in sorted(values)]
    texts.append(say_digits(slot.highest + 1000))
    before = f"{slot.before} " if slot.before else ""
    texts += [word for word in UNCERTAIN if _doubtful(state.grammar, before + word)][:1]
    return (before + text for text in texts)


def _doubtful(grammar: Grammar, text: str) -> bool:
    match = understand(grammar, text)
    return match is not None and bool(match.numbers) and match.numbers.outcome is Outcome.CONFIRM


def _time(aircraft: Aircraft, state: SessionState) -> Iterator[Move]:
    due = timers.next_deadline(aircraft, state)
    if due is not None:
        yield Move("silence", ev.Clock(), max(state.now, due))
    soon = state.now + JUST
    if state.prompt_say is not None:
        yield Move("the call is said to its end", ev.SpeechEnded(state.prompt_say), soon)
    for alert in state.alerts:
        if alert.say is not None:
            yield Move(f"{alert.key} is said to its end", ev.SpeechEnded(alert.say), soon)
    if state.squawks.playing is not None:
        yield Move("the recording ends", ev.SpeechEnded(state.squawks.playing.say), soon)
    if state.squawks.recording is not None:
        yield Move("typed", ev.Noted("a line", "keys"), soon)


def _in_hand(aircraft: Aircraft, state: SessionState) -> Item | None:
    return None if state.run is None or state.item is None else current(aircraft, state)[1]


def _gauges(aircraft: Aircraft, state: SessionState, later: float) -> Iterator[Move]:
    """The item's gauge, and one for each gravity of limit: inside, and beyond it.

    Limits of different gauges know nothing of one another, so one gauge of each kind
    stands for all of them.
    """
    values: dict[tuple[str, Decimal], None] = {}
    for name, value in (*_awaited(aircraft, state), *_beyond(aircraft, state)):
        values[name, value] = None
    for name, value in values:
        yield Move(f"{name} {value}", ev.Reading(name, value, later), later)


def _awaited(aircraft: Aircraft, state: SessionState) -> Iterator[tuple[str, Decimal]]:
    """What the item in hand waits for: the ends of its range, and just outside."""
    item = _in_hand(aircraft, state)
    gauge = gauge_of(aircraft, item) if item is not None else None
    if item is None or gauge is None or not isinstance(item.task, Await):
        return
    band = wanted_band(item)
    for end, out in ((band.at_least, -1), (band.at_most, 1)):
        if end is not None:
            yield gauge.id, end
            yield gauge.id, end + out


def _beyond(aircraft: Aircraft, state: SessionState) -> Iterator[tuple[str, Decimal]]:
    """One value past a limit of each gravity, and back inside for what stands."""
    now = engine_state(aircraft, state)
    found: set[Level] = set()
    for gauge in aircraft.gauges:
        values = dict(_levels(gauge, now))
        for level in (Level.NEVER, Level.CAUTION):
            if level in values and level not in found:
                found.add(level)
                yield gauge.id, values[level]
        stands = any(key.startswith(f"{gauge.id}/") for key in state.passed)
        if Level.NORMAL in values and (stands or not found):
            yield gauge.id, values[Level.NORMAL]


def _levels(gauge: Gauge, now: str) -> Iterator[tuple[Level, Decimal]]:
    """A value at each level that this gauge can show in this engine state."""
    low, high = gauge.possible.at_least, gauge.possible.at_most
    assert low is not None
    assert high is not None
    ends = {low, high, (low + high) / 2}
    for limit in limits_now(gauge, now):
        for band in (limit.caution, limit.never):
            for end in (band.at_least, band.at_most):
                ends |= set() if end is None else {end - 1, end, end + 1}
    for value in sorted(ends, reverse=True):
        if low <= value <= high:
            yield judge(gauge, now, value).level, value
