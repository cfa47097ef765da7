"""What of the watch over a start matters: part of the key of a state (states_key.py).

Rule of this file: what is left out is what the engine does not look at any more. Phases
follow one another and none comes back, so of what was ticked, held, seen and counted only
that stays which a phase that lasts or is to come, or a fault that is looked for in one,
still asks about; of a watch that is over nothing does, until its list is opened anew.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator
from typing import NamedTuple

from callout.checklist.start_watch import GaugeSign, ItemSign, Sign, StartWatch
from callout.engine.watch_state import WAITING, Sense, Watch


class Asked(NamedTuple):
    """What is still asked about: items, places of signs, places of gauges, faults."""

    items: frozenset[str]
    signs: frozenset[int]
    gauges: tuple[int, ...]
    faults: frozenset[str]


_KNOWN: dict[tuple[int, int], tuple[StartWatch, Asked]] = {}
"""By the identity of what is watched for (which is kept, so that it stays its own) and phase."""


def watch_key(spec: StartWatch, watch: Watch, now: float) -> Hashable:
    """The watch without what nothing asks about any more."""
    if watch.phase == len(spec.phases):
        return watch.phase
    known = _KNOWN.get((id(spec), watch.phase))
    if known is None:
        known = _KNOWN[id(spec), watch.phase] = (spec, _asked(spec, watch.phase))
    asked = known[1]
    return (
        watch.phase,
        watch.asked,
        watch.ticked & asked.items,
        tuple(sorted(one.sign for one in watch.held if one.sign in asked.signs)),
        tuple(_sense(watch.senses[place], now) for place in asked.gauges),
        tuple(sorted(one.fault for one in watch.counted if one.fault in asked.faults)),
        _up(spec, watch, now),
    )


def _sense(sense: Sense, now: float) -> Hashable:
    """Never seen, seen now, or not seen any more."""
    return sense.at > -math.inf and (sense.seen(now), sense.blind is None)


def _up(spec: StartWatch, watch: Watch, now: float) -> bool:
    """The phase's time is up, and only waits for words that tell of its end."""
    within = None if watch.phase == WAITING else spec.phases[watch.phase].within
    return within is not None and watch.since + within <= now


def _asked(spec: StartWatch, phase: int) -> Asked:
    signs = tuple(_signs(spec, phase))
    shown = [sign for sign in signs if isinstance(sign, GaugeSign)]
    return Asked(
        frozenset(sign.item for sign in signs if isinstance(sign, ItemSign)),
        frozenset(spec.place(sign) for sign in shown),
        tuple(sorted({spec.gauges[sign.gauge] for sign in shown})),
        frozenset(fault.id for phase in spec.looked_for[max(phase, 0) :] for fault in phase),
    )


def _signs(spec: StartWatch, phase: int) -> Iterator[Sign]:
    if phase == WAITING:
        yield from spec.begins
    for one, faults in list(zip(spec.phases, spec.looked_for, strict=True))[max(phase, 0) :]:
        yield from one.until
        for fault in faults:
            yield from (*fault.when, *fault.stops)
