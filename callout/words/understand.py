"""Where words become a meaning: a text against what counts now.

Rule of this file: the whole text is a phrase, or a number with its words around
it, or nothing. There is no nearest match, no part match, no search.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from callout.words.normal import normalise
from callout.words.number_words import spelled
from callout.words.phrases import Grammar, NumberSlot
from callout.words.read_numbers import readings
from callout.words.resolve import Resolution, resolve

MOST_CHARACTERS = 400
"""Longer text is not looked at: nobody answers with it."""

_SAME: tuple[tuple[str, str], ...] = (
    ("what's", "what is"),
    ("who's", "who is"),
    ("where's", "where is"),
    ("ok", "okay"),
    ("o k", "okay"),
    ("niner", "nine"),
    ("fife", "five"),
    ("per cent", "percent"),
)
"""Spellings of the same words. Nothing stands here that could change a meaning."""


@dataclass(frozen=True, slots=True)
class Match:
    """What a text means in a grammar.

    Fields:
        means: the key of the phrase or slot
        certainty: the least confidence (0 .. 1) which that phrase or slot asks for
        numbers: for a number slot, the value or values; None for a phrase
    """

    means: str
    certainty: float
    numbers: Resolution | None = None


def understand(grammar: Grammar, text: str) -> Match | None:
    """Return what the text means now; None if it is nothing that counts.

    A phrase, word for word, comes before a number. A number slot wants its
    `before` words, then a number, then at most one of its units. A number that
    the gauge cannot show is a match whose `numbers` say so, because it has to be
    refused aloud.
    """
    if len(text) > MOST_CHARACTERS:
        return None
    said = plain(text)
    for phrase in grammar.phrases:
        if said and said == plain(phrase.text):
            return Match(phrase.means, phrase.certainty)
    for slot in grammar.numbers:
        numbers = _number(slot, said)
        if numbers is not None:
            return Match(slot.means, slot.certainty, numbers)
    return None


@lru_cache(maxsize=4096)  # an ear asks about the same few phrases many times a second
def plain(text: str) -> str:
    """Return the text as it is compared: normalised, numerals spelled, one spelling a word."""
    padded = f" {spelled(normalise(text))} "
    for other, usual in _SAME:
        # Twice, because neighbours share a space: "niner niner".
        padded = padded.replace(f" {other} ", f" {usual} ").replace(f" {other} ", f" {usual} ")
    return padded.strip()


def _number(slot: NumberSlot, said: str) -> Resolution | None:
    before = plain(slot.before)
    if before:
        if not said.startswith(before + " "):
            return None
        said = said[len(before) + 1 :]
    found = readings(_without_unit(said, slot.units))
    return resolve(found, slot.lowest, slot.highest, slot.decimals) if found else None


def _without_unit(said: str, units: tuple[str, ...]) -> str:
    """Take off one unit at the end, the longest that fits."""
    for unit in sorted((plain(unit) for unit in units), key=len, reverse=True):
        if unit and said.endswith(" " + unit):
            return said[: -len(unit) - 1]
    return said
