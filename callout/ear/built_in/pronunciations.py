"""Words in, every way they may sound out, for the built-in ear.

Rule of this file: a word always gets at least one pronunciation. First what
radiotelephony says, then the open dictionary (callout.ear.pronounce), then its
letters when it is an abbreviation, then espeak-ng's spelling rules. The dictionary
is American; what other accents do to the sounds of many words is added by rule.
"""

from __future__ import annotations

import itertools
import unicodedata
from collections.abc import Iterable, Sequence
from functools import lru_cache

from callout.ear.pronounce import Phones, dictionary, spell

PHONES: Phones = (
    "AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY", "F", "G", "HH",
    "IH", "IY", "JH", "K", "L", "M", "N", "NG", "OW", "OY", "P", "R", "S", "SH", "T", "TH", "UH",
    "UW", "V", "W", "Y", "Z", "ZH",
)  # fmt: skip
"""The 39 phones of the dictionary, in its own order."""

SHORT = 3
"""An unknown word of so few letters may be an abbreviation: "egt" is heard both ways."""
MOST = 4
"""At most so many pronunciations of one word are listened for."""

VOWELS = frozenset(
    ("AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW")
)
WEAK_AFTER = frozenset(("AW", "AY", "EH", "EY", "IH", "IY", "OY", "UH", "UW"))
"""Vowels after which an R that is left out leaves a weak vowel: near, square, cure, fire."""


def _said(*forms: str) -> tuple[Phones, ...]:
    return tuple(tuple(form.split()) for form in forms)


# Radiotelephony digit sounds: ICAO Annex 10 II 5.2.1.4.3, as quoted by a
# secondary source, and FAA AIM Table 4-2-2 (ZEE-RO). They are heard beside
# the dictionary's own, for the same word.
RADIO: dict[str, tuple[Phones, ...]] = {
    "zero": _said("Z IY R OW", "Z IH R OW"),
    "one": _said("W AH N"),
    "three": _said("TH R IY", "T R IY"),
    "four": _said("F AO R", "F AO", "F OW ER"),
    "five": _said("F AY V", "F AY F"),
    "nine": _said("N AY N", "N AY N ER"),
    "niner": _said("N AY N ER"),
    "fife": _said("F AY F"),
    "fower": _said("F OW ER", "F AW ER"),
    "tree": _said("T R IY"),
    "ait": _said("EY T"),
    "wun": _said("W AH N"),
    "decimal": _said("D EH S AH M AH L", "D EY S IY M AA L"),
    "thousand": _said("TH AW Z AH N D", "TH AW Z AH N", "T AW Z AH N D"),
    "oh": _said("OW"),
    "o": _said("OW"),
    "alfa": _said("AE L F AH"),
    "juliett": _said("JH UW L IY EH T"),
    "quebec": _said("K EH B EH K", "K W EH B EH K"),
    "xray": _said("EH K S R EY"),
    "avionics": _said("EY V IY AA N IH K S"),
    "on": _said("AA N", "AO N"),
    "off": _said("AO F", "AA F"),
    # As the spelling rules say it; they need not be loaded for one word of every grammar.
    "wilco": _said("W IH L K OW"),
}

_LETTERS: dict[str, str] = {
    "a": "EY", "b": "B IY", "c": "S IY", "d": "D IY", "e": "IY", "f": "EH F", "g": "JH IY",
    "h": "EY CH", "i": "AY", "j": "JH EY", "k": "K EY", "l": "EH L", "m": "EH M", "n": "EH N",
    "o": "OW", "p": "P IY", "q": "K Y UW", "r": "AA R", "s": "EH S", "t": "T IY", "u": "Y UW",
    "v": "V IY", "w": "D AH B AH L Y UW", "x": "EH K S", "y": "W AY", "z": "Z IY",
    "0": "Z IH R OW", "1": "W AH N", "2": "T UW", "3": "TH R IY", "4": "F AO R", "5": "F AY V",
    "6": "S IH K S", "7": "S EH V AH N", "8": "EY T", "9": "N AY N",
}  # fmt: skip


@lru_cache(maxsize=4096)
def pronunciations(word: str) -> tuple[Phones, ...]:
    """How one normalised word may sound, the likeliest first; never empty, at most MOST."""
    known = RADIO.get(word) or dictionary().get(word)
    if known is None:
        known = tuple(
            tuple(itertools.chain.from_iterable(parts))
            for parts in itertools.product(*(_part(part) for part in _parts(word)))
        )
    silent = (_without_r(phones) for phones in known)
    said = tuple(dict.fromkeys((*known, *silent)))
    return tuple(dict.fromkeys((*said, *map(_weak, known))))[:MOST]


def _without_r(phones: Phones) -> Phones:
    """As in most of England: R is heard before a vowel alone ("dark" without it).

    After some vowels it leaves a weak one: "clear" without any is too near to "play".
    Wells, Accents of English (1982), from memory; so is _weak.
    """
    kept: list[str] = []
    for before, phone, then in zip(("", *phones), phones, (*phones[1:], ""), strict=False):
        if phone != "R" or then in VOWELS:
            kept.append(phone)
        elif before in WEAK_AFTER:
            kept.append("AH")
    return tuple(kept) or phones


def _weak(phones: Phones) -> Phones:
    """The last weak vowel as IH, where the dictionary has AH: "minus" is said both ways."""
    places = [place for place, phone in enumerate(phones) if phone in VOWELS]
    weak = [place for place in places[1:] if phones[place] == "AH"]
    return (*phones[: weak[-1]], "IH", *phones[weak[-1] + 1 :]) if weak else phones


def _parts(word: str) -> Sequence[str]:
    """Split at hyphens and between letters and digits: "n1" is "n", "1"."""
    parts = ["".join(group) for _, group in itertools.groupby(word, key=_kind)]
    return [part for part in parts if part.isalnum()] or ["x"]


def _kind(character: str) -> str:
    if character.isdigit():
        return "digit"
    return "letter" if character.isalnum() or character == "'" else "other"


def _part(part: str) -> tuple[Phones, ...]:
    known = RADIO.get(part) or dictionary().get(part)
    if known is not None and len(part) > 1:
        return known[:2]
    if _by_letter(part):
        return (_letters(part),)
    if len(part) <= SHORT:
        return (_letters(part), *_spelled(part))
    return _spelled(part) or (_letters(part),)


def _by_letter(part: str) -> bool:
    """Whether a part is said letter by letter: figures, single letters, no vowel in it."""
    return part.isdigit() or len(part) == 1 or not set(part) & set("aeiouy")


_spellings: dict[str, Phones] = {}


def _letters(part: str) -> Phones:
    """The names of the letters and figures, accents left off; a vowel when there are none."""
    plain = unicodedata.normalize("NFKD", part)
    names = " ".join(_LETTERS.get(letter, "") for letter in plain)
    return tuple(names.split()) or ("AH",)


def _spelled(word: str) -> tuple[Phones, ...]:
    """By the spelling rules; () if those are missing or do not know it."""
    if word not in _spellings:
        _spellings.update(spell([word]))
    phones = _spellings.get(word, ())
    return (phones,) if phones and all(phone in PHONES for phone in phones) else ()


def prepare(words: Iterable[str]) -> None:
    """Spell all words at once that no dictionary knows: one process instead of many."""
    unknown = {
        part
        for word in words
        if word not in RADIO and word not in dictionary()
        for part in _parts(word)
        if part not in RADIO and part not in dictionary() and not _by_letter(part)
    }
    _spellings.update(spell(unknown - _spellings.keys()))
