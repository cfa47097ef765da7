"""How a word sounds: the CMU dictionary first, then espeak-ng's spelling rules.

Rule of this file: words in, ARPAbet phones out; no recogniser. A word that has
no sound is told, never dropped.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from types import MappingProxyType

Phones = tuple[str, ...]

_PATIENCE = 30.0
"""Seconds after which the speller is given up."""


@cache
def dictionary() -> Mapping[str, tuple[Phones, ...]]:
    """Return the CMU dictionary that comes with PocketSphinx: word -> its pronunciations.

    Empty without the package. 39 phones, no stress marks.
    """
    path = model_folder() / "en-us" / "cmudict-en-us.dict"
    if not path.is_file():
        return MappingProxyType({})
    entries: dict[str, tuple[Phones, ...]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        word, *phones = line.split()
        word = word.partition("(")[0]
        entries[word] = (*entries.get(word, ()), tuple(phones))
    return MappingProxyType(entries)


def model_folder() -> Path:
    """Return where PocketSphinx keeps its models; PYTHON's path is asked, nothing is loaded."""
    spec = find_spec("pocketsphinx")
    origin = spec.origin if spec and spec.origin else ""
    return Path(origin).parent / "model"


def spell(words: Iterable[str]) -> dict[str, Phones]:
    """Return phones made from the spelling by espeak-ng; words it cannot say are left out.

    One process for all of them. Empty without the package espeakng-loader.
    """
    asked = sorted({word for word in words if word and not word.isspace()})
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
