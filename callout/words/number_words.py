"""The words that numbers are made of, as data.

Rule of this file: every word that may stand for part of a number is listed
here, with what it stands for; nothing is read or said here.

Digit sounds: ICAO Annex 10 Volume II 5.2.1.4.3 (as quoted in
icao4u.com/aviation-pronunciation-guide-numbers-letters) and FAA AIM 4-2-8.
The other spellings are what recognisers write for the same sounds.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

PLAIN_DIGITS: tuple[str, ...] = (
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
)
"""Index is value."""

TEENS: Mapping[str, int] = MappingProxyType(
    {
        "ten": 10,
        "eleven": 11,
        "twelve": 12,
        "thirteen": 13,
        "fourteen": 14,
        "fifteen": 15,
        "sixteen": 16,
        "seventeen": 17,
        "eighteen": 18,
        "nineteen": 19,
    }
)
TENS: Mapping[str, int] = MappingProxyType(
    {
        "twenty": 20,
        "thirty": 30,
        "forty": 40,
        "fifty": 50,
        "sixty": 60,
        "seventy": 70,
        "eighty": 80,
        "ninety": 90,
    }
)

HOMOPHONES: Mapping[str, int] = MappingProxyType(
    {"won": 1, "to": 2, "too": 2, "free": 3, "for": 4, "ate": 8}
)
"""Everyday words that sound like a digit. A number with one of them is doubtful:
"two to five" is no value.
"""

OH: Mapping[str, int] = MappingProxyType({"oh": 0, "o": 0})
"""Zero in everyday speech; by itself it may be a cry."""

DIGITS: Mapping[str, int] = MappingProxyType(
    {word: value for value, word in enumerate(PLAIN_DIGITS)}
    | {"wun": 1, "tree": 3, "fower": 4, "fife": 5, "ait": 8, "niner": 9}
    | dict(HOMOPHONES)
    | dict(OH)
)

POINTS: frozenset[str] = frozenset({"point", "decimal", "dot"})
HUNDRED, THOUSAND, AND, A = "hundred", "thousand", "and", "a"
SIGNS: Mapping[str, str] = MappingProxyType({"minus": "-", "plus": ""})
"""Signs in front. "negative" is not one: it is the radiotelephony word for no."""

TRAPS: Mapping[str, str] = MappingProxyType(
    {
        "thirteen": "thirty",
        "fourteen": "forty",
        "fifteen": "fifty",
        "sixteen": "sixty",
        "seventeen": "seventy",
        "eighteen": "eighty",
        "nineteen": "ninety",
        "thirty": "thirteen",
        "forty": "fourteen",
        "fifty": "fifteen",
        "sixty": "sixteen",
        "seventy": "seventeen",
        "eighty": "eighteen",
        "ninety": "nineteen",
    }
)
"""Words that are mistaken for one another, in both directions."""

HEARD_WORDS: tuple[str, ...] = (
    *PLAIN_DIGITS,
    "niner",
    "oh",
    *TEENS,
    *TENS,
    HUNDRED,
    THOUSAND,
    AND,
    "point",
    "decimal",
    "minus",
)
"""What a recogniser must know, each in its plain spelling."""

_NUMERAL = re.compile(r"[0-9]*\.?[0-9]+")


def spelled(text: str) -> str:
    """Return normalised text with its numerals as digit words.

    "runway 27" -> "runway two seven", "24.5" -> "two four point five". Words
    stay; so does a word that merely contains digits ("v12").
    """
    return " ".join(_spell(word) if _NUMERAL.fullmatch(word) else word for word in text.split())


def _spell(numeral: str) -> str:
    return " ".join("point" if sign == "." else PLAIN_DIGITS[int(sign)] for sign in numeral)
