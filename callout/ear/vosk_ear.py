"""The Vosk decoder: the phrases that count, against the model's own language.

Rule of this file: vosk is given a folder that was looked at first, never a name
that it would fetch. The phrases compete with everything else the model knows;
a phrase that only won because nothing else was allowed is not sure.
"""

from __future__ import annotations

import ctypes
import json
import math
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from callout.audio_block import Samples
from callout.ear.endpoint import RATE
from callout.ear.models import fault
from callout.ear.problems import EarProblem, ModelProblem
from callout.ear.verdict import Guess
from callout.words.jsgf import phrase_list
from callout.words.phrases import Grammar
from callout.words.understand import understand

UNKNOWN = "[unk]"
"""What English models call a word outside the phrases; not every model has it."""

EVEN = 10.0
"""How far (natural log) the phrases may lie behind free speech and be as likely as not.

Chosen with `python tests/ear/measure_vosk.py`, whose figures stand in that file.
"""

SLOPE = 4.0
"""How quickly certainty falls about there (natural log)."""

_SEED = 1


class VoskDecoder:
    """Vosk with the model in a folder (vosk is Apache-2.0; a model has its own licence).

    A recogniser is made anew for every utterance, because it adapts to what it
    heard before, and this decoder gives the same guess for the same sound.
    Raises ModelProblem if the folder is no usable model, EarProblem without the
    package.
    """

    name = "vosk"

    def __init__(self, model: Path) -> None:
        problem = fault(model)
        if problem:
            raise ModelProblem(problem)
        self._vosk = _vosk()
        try:
            self._model = self._vosk.Model(model_path=str(model))
        except Exception as refused:  # vosk raises a bare Exception
            raise ModelProblem(f"Vosk cannot load the model {model}: it is damaged.") from refused
        self._unknown = [UNKNOWN] if self._knows(UNKNOWN) else []

    def prepare(self, grammar: Grammar) -> None:
        """Nothing: Vosk compiles the phrases as it decodes (1 ms for 16 of them)."""

    def unknown_words(self, grammar: Grammar) -> tuple[str, ...]:
        """Return the words of a grammar that the model lacks, in alphabetical order.

        Phrases with one of them are not listened for: vosk would leave the word
        out without a sound and take the rest of the phrase for the whole.
        """
        words = {word for phrase in phrase_list(grammar) for word in phrase.split()}
        return tuple(sorted(word for word in words if not self._knows(word)))

    def decode(self, sound: Samples, grammar: Grammar) -> Guess:
        """Say which words of the phrases the sound most likely is, and how sure that is."""
        phrases = self._sayable(grammar)
        if not phrases:
            return Guess("", 0.0)
        pcm = (np.clip(sound, -1.0, 1.0) * 32767).astype("<i2").tobytes()
        listed = json.dumps([*phrases, *self._unknown], ensure_ascii=False)
        words = [word for part in self._heard(pcm, listed) for word in part.get("result", ())]
        text = " ".join(str(word["word"]) for word in words)
        if not text or UNKNOWN in text:
            return Guess(text, 0.0)
        if understand(grammar, text) is None:
            return Guess(text, _least(words))  # refused anyhow: free speech is slow to decode
        behind = self._score(pcm, None) - self._score(pcm, listed)
        return Guess(text, _least(words) / (1.0 + math.exp((behind - EVEN) / SLOPE)))

    def close(self) -> None:
        """Give the model's memory back."""
        self._model = None

    def _knows(self, word: str) -> bool:
        return int(self._model.vosk_model_find_word(word)) >= 0

    def _sayable(self, grammar: Grammar) -> list[str]:
        strange = set(self.unknown_words(grammar))
        return [phrase for phrase in phrase_list(grammar) if strange.isdisjoint(phrase.split())]

    def _score(self, pcm: bytes, listed: str | None) -> float:
        """Return the log score of the best path, with these phrases or with free speech (None)."""
        parts = self._heard(pcm, listed, alternatives=1)
        best = (part["alternatives"][0] for part in parts if part.get("alternatives"))
        return sum(float(alternative["confidence"]) for alternative in best)

    def _heard(
        self, pcm: bytes, listed: str | None, alternatives: int = 0
    ) -> Sequence[Mapping[str, Any]]:
        _seed()
        given = (self._model, RATE) if listed is None else (self._model, RATE, listed)
        recogniser = self._vosk.KaldiRecognizer(*given)
        recogniser.SetMaxAlternatives(alternatives)
        recogniser.SetWords(True)
        parts = [recogniser.Result()] if recogniser.AcceptWaveform(pcm) else []
        return [json.loads(part) for part in (*parts, recogniser.FinalResult())]


def _least(words: Sequence[Mapping[str, Any]]) -> float:
    return min(1.0, *(float(word["conf"]) for word in words))


def _seed() -> None:
    """Start the C library's random numbers anew: Kaldi dithers every sound with them."""
    ctypes.CDLL(None if os.name == "posix" else "msvcrt").srand(_SEED)


def _vosk() -> Any:  # noqa: ANN401 - the library has no types
    try:
        import vosk
    except ImportError as problem:
        raise EarProblem(
            "The vosk ear needs the package vosk; install it with: pip install vosk"
        ) from problem
    vosk.SetLogLevel(-1)
    return vosk
