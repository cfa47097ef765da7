"""Every answer of an aircraft's items, each heard with what counts at its own item.

Rule of this file: right is what ticks the item as that answer does; whatever
else is accepted is wrong. The certainty asked for is the item's own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from callout.benches.false_accepts import TICKS, ticks
from callout.benches.figures import Outcome, Result
from callout.benches.hearing import APART, Decided, Meter, listen, outcome
from callout.checklist.model import Aircraft
from callout.ear.protocol import Ear
from callout.engine.answers import wanted_band
from callout.engine.events import Heard
from callout.engine.grammar import gauge_of
from callout.running.asked import Asked, Kind, asked
from callout.running.recording_sets import RATE, Clip, mixed, pad
from callout.words.say_numbers import say_digits
from callout.words.understand import Match, plain, understand

BEFORE, AFTER = 0.5, 1.2
"""Seconds of noise alone around each answer."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """One answer of one item.

    Fields:
        one: the item and what counts when it is asked
        kind: of the item
        text: what is said
    """

    one: Asked
    kind: Kind
    text: str


def wanted(aircraft: Aircraft) -> list[Wanted]:
    """Every answer that ticks an item, items in the order of the lists within their kind."""
    return [
        Wanted(one, kind, text)
        for kind in Kind
        for one in asked(aircraft, kind)
        for text in _answers(aircraft, one)
    ]


def _answers(aircraft: Aircraft, one: Asked) -> list[str]:
    """The texts of an item's answers; of a value the ends and the middle of its band."""
    said = [plain(p.text) for p in one.grammar.phrases if p.means.startswith(TICKS)]
    numbers = [text for text in _values(aircraft, one) if ticks(one, text)]
    return list(dict.fromkeys([*said, *numbers]))


def _values(aircraft: Aircraft, one: Asked) -> Iterator[str]:
    gauge = gauge_of(aircraft, one.item)
    if gauge is None:
        return
    band, possible = wanted_band(one.item), gauge.possible
    low = band.at_least if band.at_least is not None else possible.at_least
    high = band.at_most if band.at_most is not None else possible.at_most
    assert low is not None
    assert high is not None
    step = Decimal(1).scaleb(-gauge.decimals)
    for value in (low, ((low + high) / 2).quantize(step), high):
        yield say_digits(value, gauge.decimals)
        if gauge.unit_words:
            yield f"{say_digits(value, gauge.decimals)} {plain(gauge.unit_words[0])}"


def hear_answers(
    ear: Ear,
    answers: Sequence[Wanted],
    clips: Sequence[Clip],
    noises: Sequence[Clip],
    snrs: Sequence[float | None],
    meter: Meter,
    told: Callable[[int], None] = lambda _: None,
) -> Iterator[tuple[Kind, Outcome]]:
    """Let an ear hear every recording of every answer, in every condition."""
    by_text: dict[str, list[Clip]] = defaultdict(list)
    for clip in clips:
        by_text[plain(clip.text)].append(clip)
    at, count = 0.0, 0
    for snr in snrs:
        for answer in answers:
            for clip in by_text[answer.text]:
                sound = mixed(pad(clip, BEFORE, AFTER), noises, snr)
                ear.listen_for(answer.one.grammar)
                events = listen(ear, sound, at, meter)
                yield answer.kind, judged(ear, answer, clip, snr, events)
                at += len(sound) / RATE + APART
                count += 1
                told(count)


def judged(
    ear: Ear, answer: Wanted, clip: Clip, snr: float | None, events: Sequence[Decided]
) -> Outcome:
    """As in hearing.py, but any words that mean the same at this item are right."""
    meant = _meaning(answer, answer.text)
    same = [
        (at, event)
        if _meaning(answer, event.text) != meant
        else (at, replace(event, text=clip.text))
        for at, event in events
        if isinstance(event, Heard)
    ]
    return outcome(ear, clip, snr, same or events)


def _meaning(answer: Wanted, text: str) -> object:
    match: Match | None = understand(answer.one.grammar, text)
    return match and (match.means, match.numbers and match.numbers.heard)


def missing(answers: Sequence[Wanted], clips: Sequence[Clip]) -> list[str]:
    """Texts of answers of which there is no recording."""
    have = {plain(clip.text) for clip in clips}
    return sorted({answer.text for answer in answers} - have)


def counted(outcomes: Sequence[tuple[Kind, Outcome]]) -> dict[Kind, tuple[int, int]]:
    """For each kind of item how many were right, of how many."""
    return {
        kind: (sum(o.result is Result.CORRECT for o in mine), len(mine))
        for kind in Kind
        if (mine := [o for k, o in outcomes if k is kind])
    }
