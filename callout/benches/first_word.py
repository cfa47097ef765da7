"""The first word after a long silence, against words that follow others soon.

Rule of this file: every recording is heard once in every place of a stream, so
that the places are compared on the same words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from callout.benches.figures import Outcome
from callout.benches.hearing import APART, Decided, Meter, listen, outcome, surest
from callout.ear.protocol import Ear
from callout.running.recording_sets import RATE, Clip, mixed, pad
from callout.words.phrases import Grammar

PLACES = 3
"""Words in one stream: the first, and two later ones."""
BETWEEN = 1.2
"""Seconds without words after each."""


@dataclass(frozen=True, slots=True)
class Placed:
    """One word heard in one place of a stream: 0 for the first after the silence."""

    place: int
    outcome: Outcome


def hear_in_places(
    ear: Ear,
    clips: Sequence[Clip],
    noises: Sequence[Clip],
    grammar: Grammar,
    snr: float | None,
    silence: float,
    certainty: float,
    meter: Meter,
    told: Callable[[int], None] = lambda _: None,
) -> Iterator[Placed]:
    """Present streams of `silence` seconds of noise alone and PLACES words."""
    ear.listen_for(grammar)
    at = 0.0
    for number in range(len(clips)):
        words = [clips[(number + place) % len(clips)] for place in range(PLACES)]
        parts = [pad(word, silence if n == 0 else 0.0, BETWEEN) for n, word in enumerate(words)]
        sound = np.concatenate([part.samples for part in parts])
        stream = mixed(Clip("", "", sound, number), noises, snr)
        events = listen(ear, stream, at, meter)
        begins = at
        for place, (word, part) in enumerate(zip(words, parts, strict=True)):
            ends = begins + len(part.samples) / RATE
            mine = _within(events, begins - BETWEEN / 2, ends - BETWEEN / 2)
            chosen = mine if certainty else surest(mine)
            yield Placed(place, outcome(ear, word, snr, chosen))
            begins = ends
        at += len(stream) / RATE + APART
        told(number + 1)


def _within(events: Sequence[Decided], begin: float, end: float) -> list[Decided]:
    """What was said in a stretch of time."""
    return [pair for pair in events if begin <= (pair[1].began + pair[1].ended) / 2 < end]
