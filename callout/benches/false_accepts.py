"""How often talk and noise that are not meant for an ear tick an item.

Rule of this file: the grammars are those that a session would listen with at
the items of a real checklist; each stretch of sound meets the next item.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from callout.benches.hearing import APART, Meter, listen
from callout.checklist.model import (
    Aircraft,
)
from callout.ear.protocol import Ear
from callout.engine.answers import wanted_band
from callout.engine.events import Heard
from callout.running.asked import Asked, Kind, asked
from callout.running.recording_sets import RATE, Clip, mixed
from callout.words.understand import understand

OTHER_NOISE = 100_003
"""Added to the place of a recording each time it is heard again."""
TICKS = ("answer:", "option:")
"""What the engine calls the answers that tick an item, at the beginning of `means`."""


@dataclass(frozen=True, slots=True)
class FalseAccepts:
    """Figures of one ear for one kind of item.

    Fields:
        hours: of sound, repeats included
        times: how often all of it was heard
        count: wrong ticks
        other: other words accepted, which tick nothing ("say again", a wrong answer, ...)
        what: the texts that ticked, as often as they did
    """

    ear: str
    kind: Kind
    hours: float
    times: int
    count: int
    other: int
    what: tuple[str, ...]


def ticks(one: Asked, text: str) -> bool:
    """Whether these words, accepted, would tick the item."""
    match = understand(one.grammar, text)
    if match is None:
        return False
    if match.numbers is not None:
        value = match.numbers.value  # None while it would have to be confirmed
        return match.means == "value" and value is not None and wanted_band(one.item).holds(value)
    return match.means.startswith(TICKS)


def false_accepts(
    ear: Ear,
    aircraft: Aircraft,
    talk: Sequence[Clip],
    noises: Sequence[Clip],
    snrs: Sequence[float | None],
    least: float = 0.0,
    told: Callable[[float], None] = lambda _: None,
) -> Iterator[FalseAccepts]:
    """Let an ear hear all talk, mixed with noise, then all noise alone, for each kind of item.

    All of it is heard again until it was `least` hours for each kind: with the next of `snrs`,
    other noise, in another order and at other items. Kinds of which the aircraft has no item
    are left out. `told` gets seconds heard.
    """
    at, heard = 0.0, 0.0
    for kind in Kind:
        items = asked(aircraft, kind)
        if not items:
            continue
        count, other, seconds, times = [], 0, 0.0, 0
        met = itertools.cycle(items)
        while not times or seconds < 3600 * least:
            for clip, level in _order(talk, noises, snrs[times % len(snrs)], times):
                one = next(met)
                sound = mixed(clip, noises, level)
                ear.listen_for(one.grammar)
                events = [event for _, event in listen(ear, sound, at, Meter())]
                accepted = [event.text for event in events if isinstance(event, Heard)]
                ticked = [text for text in accepted if ticks(one, text)]
                count += ticked
                other += len(accepted) - len(ticked)
                at += clip.seconds + APART
                seconds += len(sound) / RATE
                told(heard := heard + clip.seconds)
            times += 1
        yield FalseAccepts(ear.name, kind, seconds / 3600, times, len(count), other, tuple(count))


def _order(
    talk: Sequence[Clip], noises: Sequence[Clip], snr: float | None, times: int
) -> list[tuple[Clip, float | None]]:
    """All sound with its condition; the first time as it stands in the sets.

    The place of a clip chooses the noise under it, so another place means other noise.
    """
    moved = [replace(clip, place=clip.place + OTHER_NOISE * times) for clip in talk]
    sounds = [*((clip, snr) for clip in moved), *((clip, None) for clip in noises)]
    if times:
        return [sounds[i] for i in np.random.default_rng(times).permutation(len(sounds))]
    return sounds
