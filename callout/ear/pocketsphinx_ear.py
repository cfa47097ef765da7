"""The PocketSphinx decoder: a JSGF grammar against a loop of phones.

Rule of this file: the grammar is told what counts, the loop what English sounds
like; how much better the one is than the other is the certainty. Nothing is
carried from one utterance to the next: the same sound gives the same guess.
"""

from __future__ import annotations

import hashlib
import math
from collections import OrderedDict
from typing import Any

import numpy as np

from callout.audio_block import Samples
from callout.ear.confidence import Evidence, certainty
from callout.ear.endpoint import RATE
from callout.ear.pronounce import dictionary, model_folder, spell
from callout.ear.verdict import Guess
from callout.words.jsgf import to_jsgf, vocabulary
from callout.words.phrases import Grammar

PHONES = (
    *("AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY"),
    *("F", "G", "HH", "IH", "IY", "JH", "K", "L", "M", "N", "NG", "OW", "OY"),
    *("P", "R", "S", "SH", "T", "TH", "UH", "UW", "V", "W", "Y", "Z", "ZH"),
)
"""The 39 phones of the CMU Pronouncing Dictionary."""

GRAMMARS_KEPT = 64
"""Compiled grammars kept; a list is walked to and fro over a few of them."""

RUNNERS_UP = 40
"""How many hypotheses are looked through for one of other words."""

SCALE = 1024.0
"""PocketSphinx keeps scores shifted right by ten bits; times this they are natural logs."""

_LOOP = "phones"


class PocketSphinxDecoder:
    """PocketSphinx 5 with the American English model that its wheel carries (BSD).

    Raises ImportError, in one sentence, without the package.
    """

    name = "pocketsphinx"

    def __init__(self) -> None:
        self._decoder = _load()
        self._grammars: OrderedDict[str, None] = OrderedDict()
        self._added: set[str] = set()
        self._add_phone_loop()

    def prepare(self, grammar: Grammar) -> None:
        """Compile a grammar, or find it among those kept.

        Words that the dictionary lacks are spelled out by sound.
        Raises ValueError naming the words that cannot be pronounced.
        """
        if not grammar.phrases and not grammar.numbers:
            return
        jsgf = to_jsgf(grammar)
        name = hashlib.sha256(jsgf.encode()).hexdigest()
        if name not in self._grammars:
            self._learn(grammar)
            self._decoder.add_jsgf_string(name, jsgf)
            self._grammars[name] = None
            if len(self._grammars) > GRAMMARS_KEPT:
                self._decoder.remove_search(self._grammars.popitem(last=False)[0])
        self._grammars.move_to_end(name)

    def decode(self, sound: Samples, grammar: Grammar) -> Guess:
        """Say which words of the grammar the sound most likely is, and how sure that is."""
        if not grammar.phrases and not grammar.numbers:
            return Guess("", 0.0)
        self.prepare(grammar)
        pcm = (np.clip(sound, -1.0, 1.0) * 32767).astype("<i2").tobytes()
        best = self._search(next(reversed(self._grammars)), pcm)
        if best is None:
            return Guess("", 0.0)
        segments = [segment for segment in self._decoder.seg() if _is_word(segment.word)]
        frames = sum(segment.end_frame - segment.start_frame + 1 for segment in segments)
        runner_up = self._runner_up(best.hypstr)
        loop = self._search(_LOOP, pcm)
        if loop is None or not frames:
            return Guess(best.hypstr, 0.0)
        evidence = Evidence(
            grammar=_log(best.score),
            loop=_log(loop.score),
            runner_up=runner_up,
            frames=frames,
        )
        return Guess(best.hypstr, certainty(evidence))

    def close(self) -> None:
        """Give the model's memory back."""
        self._decoder = None
        self._grammars.clear()

    def _search(self, name: str, pcm: bytes) -> Any:  # noqa: ANN401 - the library has no types
        """Decode with one of the searches; return its hypothesis or None."""
        self._decoder.activate_search(name)
        self._decoder.start_utt()
        self._decoder.process_raw(pcm, full_utt=True)
        self._decoder.end_utt()
        return self._decoder.hyp()

    def _runner_up(self, best: str) -> float | None:
        """Return the score of the best hypothesis with other words; None if there is none."""
        for _, other in zip(range(RUNNERS_UP), self._decoder.nbest(), strict=False):
            if other is not None and other.hypstr != best and other.score > 0:
                return _log(other.score)
        return None

    def _learn(self, grammar: Grammar) -> None:
        """Add the words that the dictionary lacks, as espeak-ng would say them."""
        strange = self._strange(grammar)
        sounds = spell(strange)
        silent = [word for word in strange if word not in sounds]
        if silent:
            raise ValueError(
                f"PocketSphinx cannot listen for {', '.join(silent)}: the words are not in its "
                "dictionary and have no English spelling; write them as they are spoken."
            )
        for place, word in enumerate(strange, start=1):
            self._decoder.add_word(word, " ".join(sounds[word]), place == len(strange))
            self._added.add(word)

    def _strange(self, grammar: Grammar) -> list[str]:
        words = vocabulary(grammar) - self._added
        return sorted(word for word in words if self._decoder.lookup_word(word) is None)

    def _add_phone_loop(self) -> None:
        for phone in PHONES:
            self._decoder.add_word(f"_{phone}", phone, phone == PHONES[-1])
        again = [(0, 0, 1.0 / len(PHONES), f"_{phone}") for phone in PHONES]
        loop = self._decoder.create_fsg(_LOOP, 0, 1, [*again, (0, 1, 1.0)])
        self._decoder.add_fsg(_LOOP, loop)


def unknown_words(grammar: Grammar) -> tuple[str, ...]:
    """Return the words of a grammar that cannot be pronounced, in alphabetical order."""
    strange = {word for word in vocabulary(grammar) if word not in dictionary()}
    return tuple(sorted(strange - spell(strange).keys()))


def _load() -> Any:  # noqa: ANN401 - the library has no types
    try:
        from pocketsphinx import Decoder
    except ImportError as problem:
        raise ImportError(
            "The pocketsphinx ear needs the package pocketsphinx; install it with: "
            "pip install pocketsphinx"
        ) from problem
    folder = model_folder() / "en-us"
    return Decoder(
        hmm=str(folder / "en-us"),
        dict=str(folder / "cmudict-en-us.dict"),
        lm=None,
        samprate=RATE,
        loglevel="FATAL",
        cmn="batch",
        lw=1.0,
        bestpath=False,
    )


def _is_word(word: str) -> bool:
    return word[0] not in "<(+"


def _log(score: float) -> float:
    return math.log(score) * SCALE
