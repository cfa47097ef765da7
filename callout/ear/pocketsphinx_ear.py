"""The PocketSphinx decoder: a JSGF grammar against any sequence of phones.

Rule of this file: the grammar is told what counts, the phones what English
sounds like; how the one stands against the other is the certainty. Nothing is
carried from one utterance to the next: the same sound gives the same guess.
"""

from __future__ import annotations

import hashlib
import math
from collections import OrderedDict
from dataclasses import replace
from typing import Any

import numpy as np

from callout.audio_block import Samples
from callout.ear.confidence import Evidence, certainty
from callout.ear.endpoint import RATE
from callout.ear.problems import EarProblem
from callout.ear.pronounce import dictionary, model_folder, spell
from callout.ear.verdict import Guess
from callout.words.jsgf import to_jsgf, unsayable, vocabulary
from callout.words.phrases import Grammar
from callout.words.understand import plain

GRAMMARS_KEPT = 64
"""Compiled grammars kept; a list is walked to and fro over a few of them."""

SCALE = 1024.0
"""PocketSphinx keeps scores shifted right by ten bits; times this they are natural logs."""

_PHONES = "phones"


class PocketSphinxDecoder:
    """PocketSphinx 5 with the American English model that its wheel carries (BSD).

    Raises EarProblem without the package.
    """

    name = "pocketsphinx"

    def __init__(self) -> None:
        self._decoder = _load()
        self._grammars: OrderedDict[str, None] = OrderedDict()
        self._added: set[str] = set()
        self._silent: set[str] = set()
        model = model_folder() / "en-us" / "en-us-phone.lm.bin"
        self._decoder.add_allphone_file(_PHONES, str(model))

    def prepare(self, grammar: Grammar) -> None:
        """Compile a grammar, or find it among those kept.

        Words that the dictionary lacks are spelled out by sound. What cannot be
        pronounced is not listened for: `unknown_words` names it beforehand.
        """
        self._learn(grammar)
        jsgf = to_jsgf(self._sayable(grammar))
        name = hashlib.sha256(jsgf.encode()).hexdigest()
        if name not in self._grammars:
            self._decoder.add_jsgf_string(name, jsgf)
            self._grammars[name] = None
            if len(self._grammars) > GRAMMARS_KEPT:
                self._decoder.remove_search(self._grammars.popitem(last=False)[0])
        self._grammars.move_to_end(name)

    def decode(self, sound: Samples, grammar: Grammar) -> Guess:
        """Say which words of the grammar the sound most likely is, and how sure that is."""
        text, evidence = self.weigh(sound, grammar)
        return Guess(text, certainty(evidence) if evidence else 0.0)

    def weigh(self, sound: Samples, grammar: Grammar) -> tuple[str, Evidence | None]:
        """Return the likeliest words and what speaks for them; None if nothing does."""
        self.prepare(grammar)
        sayable = self._sayable(grammar)
        if not sayable.phrases and not sayable.numbers:
            return "", None
        pcm = (np.clip(sound, -1.0, 1.0) * 32767).astype("<i2").tobytes()
        best = self._search(next(reversed(self._grammars)), pcm)
        if best is None:
            return "", None
        words = [segment for segment in self._decoder.seg() if _is_word(segment.word)]
        phones = self._search(_PHONES, pcm)
        if phones is None or not words:
            return best.hypstr, None
        lengths = [word.end_frame - word.start_frame + 1 for word in words]
        scores = [_log(word.ascore) for word in words]
        return best.hypstr, Evidence(
            grammar=_log(best.score),
            phones=_log(phones.score),
            worst=min(score / length for score, length in zip(scores, lengths, strict=True)),
            frames=sum(lengths),
            all_frames=self._decoder.n_frames(),
        )

    def close(self) -> None:
        """Give the model's memory back."""
        self._decoder = None
        self._grammars.clear()

    def _search(self, name: str, pcm: bytes) -> Any:  # noqa: ANN401 - the library has no types
        """Decode with one of the searches; return its hypothesis or None."""
        self._decoder.reinit_feat()  # else the sound before this one moves the score
        self._decoder.activate_search(name)
        self._decoder.start_utt()
        self._decoder.process_raw(pcm, full_utt=True)
        self._decoder.end_utt()
        return self._decoder.hyp()

    def _learn(self, grammar: Grammar) -> None:
        """Add the words that the dictionary lacks, as espeak-ng would say them."""
        known = self._added | self._silent
        words = sorted(vocabulary(grammar) - known)
        strange = [word for word in words if self._decoder.lookup_word(word) is None]
        sounds = spell(word for word in strange if not unsayable(word))
        for place, (word, phones) in enumerate(sounds.items(), start=1):
            self._decoder.add_word(word, " ".join(phones), place == len(sounds))
        self._added.update(sounds)
        self._silent.update(word for word in strange if word not in sounds)

    def _sayable(self, grammar: Grammar) -> Grammar:
        """Return the grammar without phrases, slots and units that cannot be pronounced."""

        def can(text: str) -> bool:
            return self._silent.isdisjoint(plain(text).split())

        slots = (
            replace(slot, units=tuple(filter(can, slot.units)))
            for slot in grammar.numbers
            if can(slot.before)
        )
        phrases = tuple(phrase for phrase in grammar.phrases if can(phrase.text))
        return Grammar(grammar.serial, phrases, tuple(slots))


def unknown_words(grammar: Grammar) -> tuple[str, ...]:
    """Return the words of a grammar that cannot be pronounced, in alphabetical order."""
    strange = {word for word in vocabulary(grammar) if word not in dictionary()}
    sounds = spell(word for word in strange if not unsayable(word))
    return tuple(sorted(strange - sounds.keys()))


def _load() -> Any:  # noqa: ANN401 - the library has no types
    try:
        from pocketsphinx import Decoder
    except ImportError as problem:
        raise EarProblem(
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
