"""How a word sounds: the CMU dictionary first, then spelling rules.

Rule of this file: words in, ARPAbet phones out; no recogniser. A word that has
no sound is told, never dropped. The spelling rules are those of the bundled
voice, so that a word is heard as callout says it; espeak-ng's are a second way.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from types import MappingProxyType

from callout.sorted_lines import SortedLines
from callout.spelling import speller

Phones = tuple[str, ...]

_PATIENCE = 30.0
"""Seconds after which the speller is given up."""


@cache
def dictionary() -> Mapping[str, tuple[Phones, ...]]:
    """Return the CMU dictionary that comes with PocketSphinx: word -> its pronunciations.

    Empty without the package. 39 phones, no stress marks. Looked up in its file.
    """
    path = model_folder() / "en-us" / "cmudict-en-us.dict"
    return _Dictionary(path) if path.is_file() else MappingProxyType({})


class _Dictionary(Mapping[str, tuple[Phones, ...]]):
    """The lines of the file, which are sorted by their words."""

    def __init__(self, path: Path) -> None:
        self._lines = SortedLines(path)

    def __getitem__(self, word: str) -> tuple[Phones, ...]:
        found = self._lines.find(word.encode("utf-8", "replace"))
        if not found:
            raise KeyError(word)
        return tuple(tuple(line.decode().split()[1:]) for line in found)

    def __iter__(self) -> Iterator[str]:
        return (key.decode() for key in self._lines)

    def __len__(self) -> int:
        return sum(1 for _ in self._lines)


def model_folder() -> Path:
    """Return where PocketSphinx keeps its models; PYTHON's path is asked, nothing is loaded."""
    spec = find_spec("pocketsphinx")
    origin = spec.origin if spec and spec.origin else ""
    return Path(origin).parent / "model"


def spell(words: Iterable[str]) -> dict[str, Phones]:
    """Return phones made from the spelling; words that cannot be said are left out."""
    asked = sorted({word for word in words if word and not word.isspace()})
    spelled = by_voice(asked)
    left = [word for word in asked if word not in spelled]
    return {**spelled, **by_espeak(left)}


def by_voice(words: Iterable[str]) -> dict[str, Phones]:
    """As hibari-tts spells them (Apache-2.0); empty without the package."""
    asked = list(words)
    if not asked or find_spec("hibari") is None:
        return {}
    say = speller()
    spelled = {word: to_phones(say(word)) for word in asked if word.isascii()}
    return {word: phones for word, phones in spelled.items() if phones}


SOUNDS: Mapping[str, str] = MappingProxyType(
    {
        "A": "EY",
        "I": "AY",
        "O": "OW",
        "W": "AW",
        "Y": "OY",
        "i": "IY",
        "u": "UW",
        "ɑ": "AA",
        "ɔ": "AO",
        "ɛ": "EH",
        "æ": "AE",
        "ʌ": "AH",
        "ə": "AH",
        "ɐ": "AH",
        "ᵊ": "AH",
        "ɪ": "IH",
        "ᵻ": "IH",
        "ʊ": "UH",
        "ɜ": "ER",
        "ʤ": "JH",
        "ʧ": "CH",
        "ð": "DH",
        "θ": "TH",
        "ʃ": "SH",
        "ʒ": "ZH",
        "ŋ": "NG",
        "ɹ": "R",
        "j": "Y",
        "ɡ": "G",
        "h": "HH",
        "T": "T",
        "ɾ": "T",
        "ʔ": "T",
        **{letter: letter.upper() for letter in "bdfklmnpstvwz"},
    }
)
"""hibari's American symbols to the 39 phones of the CMU dictionary."""


def to_phones(symbols: str) -> Phones:
    """Return the phones of a word in hibari's symbols; () if one of them is no English sound."""
    text = symbols.translate({ord(mark): None for mark in "ˈˌː "})
    text = text.replace("ɜɹ", "ɜ").replace("əɹ", "ɜ")
    return tuple(SOUNDS[one] for one in text) if all(one in SOUNDS for one in text) else ()


def by_espeak(words: Iterable[str]) -> dict[str, Phones]:
    """As espeak-ng spells them, one process for all; empty without espeakng-loader."""
    asked = sorted(words)
    if not asked or find_spec("espeakng_loader") is None:
        return {}
    answer = subprocess.run(
        [sys.executable, "-m", "callout.ear.espeak_phones"],
        input="\n".join(asked) + "\n",
        capture_output=True,
        encoding="utf-8",
        timeout=_PATIENCE,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        check=False,
    )
    lines = [line.split() for line in answer.stdout.splitlines()]
    return {word: tuple(phones) for word, *phones in lines if phones}
