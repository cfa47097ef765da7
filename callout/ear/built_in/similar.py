"""Answers that sound too much alike to stand in one active set.

Rule of this file: it compares how texts sound, as the model confuses sounds; it
knows nothing of checklists. Who wrote the list is told by callers.

The distance of two texts is the cheapest way to turn the phones of one into
those of the other (Levenshtein 1966), where mistaking a phone for another costs
the negative logarithm of how often the model does so (confusions.json beside
the model, measured in noise by models/confusions.py).
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from callout.ear.built_in.pronunciations import PHONES, pronunciations
from callout.ear.pronounce import Phones
from callout.words.number_words import DIGITS, HEARD_WORDS
from callout.words.phrases import Grammar

TOO_CLOSE = 3.4
"""Texts nearer than this are told, natural logarithm. It lies between "free" and "three" (3.2)
and "on" and "off" (3.6), which no checklist can do without.
"""
MOST_WAYS = 6
"""So many pronunciations of a text are compared."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two texts of different meaning, and how far apart they sound (0: the same)."""

    one: str
    other: str
    distance: float


@dataclass(frozen=True, slots=True)
class Confusions:
    """What mistakes cost, natural logarithms.

    Fields:
        instead: cost of hearing phone j for phone i, float64 [39, 39], 0 for itself
        missed: cost of not hearing phone i, or hearing one that is not there, [39]
        known: distances worked out already: an answer meets the same words at every item
    """

    instead: NDArray[np.float64]
    missed: NDArray[np.float64]
    known: dict[tuple[str, str, float], float] = field(default_factory=dict, compare=False)

    @staticmethod
    def read(path: Path) -> Confusions:
        """Read what models/confusions.py measured."""
        about = json.loads(path.read_text(encoding="utf-8"))
        return Confusions(np.array(about["instead"]), np.array(about["missed"]))


def too_similar(
    grammar: Grammar, confusions: Confusions, only: Collection[str] = ()
) -> tuple[Pair, ...]:
    """Return pairs of texts of different meaning that sound nearly alike, nearest first.

    Where a number counts, its single words are compared with the phrases, too;
    with one another they are not ("nine" and "five" cannot be avoided). With
    `only`, each pair has at least one of these texts.
    """
    texts = [(phrase.text, phrase.means) for phrase in grammar.phrases]
    numbers = [(word, "number") for word in HEARD_WORDS if grammar.numbers]
    pairs = itertools.chain(itertools.combinations(texts, 2), itertools.product(texts, numbers))
    found = [
        Pair(one, other, distance)
        for (one, means), (other, meant) in pairs
        if means != meant and not _same_word(one, other)
        if not only or one in only or other in only
        if (distance := apart(one, other, confusions, TOO_CLOSE)) < TOO_CLOSE
    ]
    return tuple(sorted(found, key=lambda pair: pair.distance))


def _same_word(one: str, other: str) -> bool:
    """Whether both are spellings of one digit: "fife" is not too near "five"."""
    return one in DIGITS and other in DIGITS and DIGITS[one] == DIGITS[other]


def apart(one: str, other: str, confusions: Confusions, within: float = float("inf")) -> float:
    """Return how far apart two texts sound at their nearest pronunciations.

    What is not nearer than `within` may be given as inf, which is found sooner.
    """
    key = (min(one, other), max(one, other), within)
    if key not in confusions.known:
        confusions.known[key] = min(
            _distance(left, right, confusions, within)
            for left, right in itertools.product(_ways(one), _ways(other))
        )
    return confusions.known[key]


@cache
def _ways(text: str) -> tuple[Phones, ...]:
    ways: Iterator[Sequence[Phones]] = itertools.product(
        *(pronunciations(word)[:2] for word in text.split())
    )
    joined = (tuple(itertools.chain.from_iterable(way)) for way in ways)
    return tuple(itertools.islice(joined, MOST_WAYS))


def _distance(one: Phones, other: Phones, confusions: Confusions, within: float) -> float:
    """Cheapest alignment; texts of very different length are far apart without looking."""
    missed = confusions.missed
    if abs(len(one) - len(other)) * float(missed.min()) > within:
        return float("inf")
    left = [PHONES.index(phone) for phone in one]
    right = [PHONES.index(phone) for phone in other]
    above = [0.0, *np.cumsum(missed[right])]
    for phone in left:
        row = [above[0] + missed[phone]]
        for place, heard in enumerate(right):
            row.append(
                min(
                    above[place] + confusions.instead[phone, heard],
                    above[place + 1] + missed[phone],
                    row[place] + missed[heard],
                )
            )
        if min(row) > within:
            return float("inf")
        above = row
    return float(above[-1])
