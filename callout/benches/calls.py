"""Can what callout says be understood in noise: every call, by a listener that is not ours.

Rule of this file: the calls are those of an aircraft file, said as in a
session; what is heard is settled by the call, the condition and the take, so
that each run gives the same figures.

The listener is PocketSphinx in a loop of all words of the calls. It is worse
than people are: its figures say which calls are worse than others, not how
many of them a pilot would understand.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from callout.audio_block import AudioBlock, Samples
from callout.checklist.model import Aircraft
from callout.ear.word_loop import WordLoop
from callout.engine import wording
from callout.running.recording_sets import RATE, Clip, mixed
from callout.voice.shape import resampled
from callout.words.normal import normalise


@dataclass(frozen=True, slots=True)
class Take:
    """One call heard once: condition (dB, None for clean), words heard, words wrong of how many."""

    call: str
    snr: float | None
    heard: str
    wrong: int
    words: int


@dataclass(frozen=True, slots=True)
class Condition:
    """All calls in one condition: shares 0 .. 1 of calls heard whole, and of words wrong."""

    snr: float | None
    takes: int
    whole: float
    wrong: float


@dataclass(frozen=True, slots=True)
class CallFigures:
    """One call over all conditions: share of words wrong, and what it was heard as most often.

    No take counts as more than all of its words wrong.
    """

    call: str
    wrong: float
    heard: tuple[tuple[str, int], ...]


def spoken_calls(aircraft: Aircraft) -> list[str]:
    """Every title and prompt of an aircraft once, in the order of its lists."""
    texts = []
    for checklist in aircraft.lists:
        texts.append(wording.sentence(checklist.title))
        texts += [wording.prompt(aircraft, item) for item in checklist.items()]
    return list(dict.fromkeys(texts))


def sounds(calls: Sequence[str], voice: Callable[[str], AudioBlock]) -> list[Samples]:
    """The calls as sound at RATE."""
    return [resampled(voice(call), RATE).samples for call in calls]


def hear_calls(
    calls: Sequence[str],
    sound: Sequence[Samples],
    noises: Sequence[Clip],
    snrs: Sequence[float | None],
    takes: int,
    told: Callable[[], None] = lambda: None,
) -> Iterator[Take]:
    """Let the listener hear each call `takes` times in each condition, in other noise each time."""
    listener = WordLoop(word for call in calls for word in normalise(call).split())
    for snr in snrs:
        for place, (call, samples) in enumerate(zip(calls, sound, strict=True)):
            said = normalise(call).split()
            for take in range(1 if snr is None else takes):
                clip = Clip(normalise(call), "", samples, place * takes + take)
                heard = listener.hear(mixed(clip, noises, snr))
                yield Take(call, snr, heard, edits(said, heard.split()), len(said))
                told()


def conditions(takes: Iterable[Take]) -> list[Condition]:
    """Figures of each condition, in the order in which they came."""
    by_snr: dict[float | None, list[Take]] = {}
    for take in takes:
        by_snr.setdefault(take.snr, []).append(take)
    return [
        Condition(snr, len(these), sum(not one.wrong for one in these) / len(these), _wrong(these))
        for snr, these in by_snr.items()
    ]


def worst(takes: Iterable[Take], most: int) -> list[CallFigures]:
    """The calls with the largest share of words wrong, worst first."""
    by_call: dict[str, list[Take]] = {}
    for take in takes:
        by_call.setdefault(take.call, []).append(take)
    figures = [
        CallFigures(
            call,
            sum(min(one.wrong, one.words) for one in these) / sum(one.words for one in these),
            tuple(Counter(one.heard for one in these if one.wrong).most_common(2)),
        )
        for call, these in by_call.items()
    ]
    return sorted(figures, key=lambda one: (-one.wrong, one.call))[:most]


def _wrong(takes: Sequence[Take]) -> float:
    return sum(take.wrong for take in takes) / sum(take.words for take in takes)


def edits(said: Sequence[str], heard: Sequence[str]) -> int:
    """Least number of words put in, left out or changed (Levenshtein 1966)."""
    row = list(range(len(heard) + 1))
    for done, word in enumerate(said, start=1):
        before, row = row, [done]
        for place, other in enumerate(heard):
            changed = before[place] + (word != other)
            row.append(min(changed, before[place + 1] + 1, row[place] + 1))
    return row[-1]
