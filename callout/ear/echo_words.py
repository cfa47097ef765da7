"""Whether words sound like a part of a sentence that is being said.

Rule of this file: words and phones; no sound and no time. Phones are those of
the dictionary, or of the spelling rules where it lacks the word.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from callout.ear.pronounce import dictionary, spell
from callout.words.normal import normalise

SAME = 0.34
"""Up to this share of the phones may differ: one of three."""


def sounds_like_part(heard: str, said: str) -> bool:
    """Whether what was heard sounds like words of `said`, one after another."""
    pattern, text = phones(normalise(heard)), phones(normalise(said))
    return bool(pattern) and _differences(pattern, text) <= SAME * len(pattern)


@lru_cache(maxsize=256)
def phones(words: str) -> tuple[str, ...]:
    """Phones of normalised words; a word that has no sound is its letters."""
    known = dictionary()
    strange = spell(word for word in words.split() if word not in known)
    return tuple(
        phone
        for word in words.split()
        for phone in (known[word][0] if word in known else strange.get(word, tuple(word)))
    )


def _differences(pattern: Sequence[str], text: Sequence[str]) -> int:
    """Least edits that turn the pattern into some stretch of the text (Sellers 1980)."""
    row = [0] * (len(text) + 1)
    for done, wanted in enumerate(pattern, start=1):
        before, row = row, [done]
        for place, phone in enumerate(text):
            change = before[place] + (phone != wanted)
            row.append(min(change, before[place + 1] + 1, row[place] + 1))
    return min(row)
