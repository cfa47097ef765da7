"""What an answer must not be mistaken for: its opposites, listened for in order to be refused.

Rule of this file: words in, words out. A decoy has no meaning and is never told to anybody; it
only takes the sound that is its own, so that "unclear" is not the nearest thing to "all clear".

The table holds words that checklists and speech about machines use as opposites (common
practice, no source); more are made with "un" and "dis" where the dictionary knows the word.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

from callout.ear.pronounce import dictionary

OPPOSITES: dict[str, tuple[str, ...]] = {
    "aft": ("forward",),
    "applied": ("released",),
    "armed": ("disarmed", "safe"),
    "clear": ("unclear",),
    "closed": ("open",),
    "cold": ("hot", "warm"),
    "dark": ("lit", "burning"),
    "down": ("up",),
    "empty": ("full",),
    "engaged": ("released",),
    "fitted": ("removed",),
    "forward": ("aft", "back"),
    "free": ("stiff", "stuck"),
    "full": ("empty", "half"),
    "fully": ("half", "partly"),
    "high": ("low",),
    "in": ("out",),
    "intact": ("damaged",),
    "left": ("right",),
    "locked": ("open", "loose", "blocked"),
    "low": ("high",),
    "normal": ("abnormal",),
    "off": ("on",),
    "on": ("off",),
    "open": ("closed",),
    "out": ("in",),
    "pressed": ("released",),
    "released": ("pressed", "applied"),
    "removed": ("fitted",),
    "right": ("left",),
    "running": ("stopped",),
    "safe": ("hot", "armed"),
    "smooth": ("rough",),
    "standing": ("turning", "spinning"),
    "still": ("turning",),
    "stopped": ("running", "turning"),
    "tight": ("loose",),
    "up": ("down",),
    "within": ("without",),
}
PREFIXES = ("un", "dis")
SHORTEST = 4
"""Letters of a word that gets one of them: "unto" is no opposite of "to"."""


@lru_cache(maxsize=4096)  # the same few answers at every change of the grammar
def decoys(answer: str) -> tuple[str, ...]:
    """Texts that mean something else than a normalised answer and sound or look like it."""
    words = answer.split()
    found = dict.fromkeys(_changed(words))
    found |= dict.fromkeys(f"not {text}" for text in (answer, words[-1]))
    found |= dict.fromkeys(_opposites(words[-1]))
    return tuple(text for text in found if text != answer)


def _changed(words: list[str]) -> Iterator[str]:
    """The answer with one of its words turned into an opposite."""
    for place, word in enumerate(words):
        for other in _opposites(word):
            yield " ".join((*words[:place], other, *words[place + 1 :]))


def _opposites(word: str) -> Iterable[str]:
    made = [before + word for before in PREFIXES if len(word) >= SHORTEST]
    return (*OPPOSITES.get(word, ()), *(text for text in made if text in dictionary()))
