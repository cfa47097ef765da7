"""What may be called out about a start while it is watched: words and values.

Rule of this file: as grammar.py, whose part it is. They ask for the certainty
of a killer item: what is called can end a start.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.model import Aircraft, Gauge
from callout.checklist.start_watch import SaidSign, StartWatch
from callout.engine.state import SessionState
from callout.engine.watch_state import WAITING
from callout.words.normal import normalise
from callout.words.phrases import EXPECTED, NumberSlot, Phrase

SAID = "start"
"""First part of the meaning of words about the start."""

VALUE = "start value"
"""First part of the meaning of a value called out."""


def _watched(aircraft: Aircraft, state: SessionState) -> StartWatch | None:
    return aircraft.start_watch if state.watched != WAITING else None


def phrases(aircraft: Aircraft, state: SessionState) -> Iterator[Phrase]:
    """Words that end the phase that lasts, or name a fault that is looked for in it."""
    spec = _watched(aircraft, state)
    if spec is None:
        return
    faults = spec.looked_for[state.watched]
    signs = [
        *spec.phases[state.watched].until,
        *(s for fault in faults for s in (*fault.when, *fault.stops)),
    ]
    for sign in signs:
        for words in sign.said if isinstance(sign, SaidSign) else ():
            text = normalise(words)
            yield Phrase(text, f"{SAID}:{text}", aircraft.settings.killer_certainty, EXPECTED)


def slots(aircraft: Aircraft, state: SessionState, *, bare: bool) -> Iterator[NumberSlot]:
    """Values with the name of their gauge before them; without one if `bare` is free."""
    spec = _watched(aircraft, state)
    if spec is None:
        return
    sure = aircraft.settings.killer_certainty
    if bare and spec.bare_numbers:
        yield _slot(aircraft.gauge(spec.bare_numbers), "", sure)
    for gauge_id in spec.spoken:
        gauge = aircraft.gauge(gauge_id)
        for name in (gauge.call, *gauge.also) if gauge.unit_words else ():
            yield _slot(gauge, normalise(name), sure)


def _slot(gauge: Gauge, before: str, certainty: float) -> NumberSlot:
    low, high = gauge.possible.at_least, gauge.possible.at_most
    assert low is not None
    assert high is not None
    units = tuple(map(normalise, gauge.unit_words))
    means = f"{VALUE}:{gauge.id}"
    return NumberSlot(means, low, high, gauge.decimals, before, units, certainty)
