"""The Vosk decoder: the phrases that count, and "[unk]" for all the rest.

Rule of this file: vosk is given a folder that was looked at first, never a name
that it would fetch. A guess with "[unk]" in it is refused; it is as sure as its
least sure word.
"""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from callout.audio_block import Samples
from callout.ear.endpoint import RATE
from callout.ear.models import fault
from callout.ear.problems import ModelProblem
from callout.ear.verdict import Guess
from callout.words.jsgf import phrase_list
from callout.words.phrases import Grammar

UNKNOWN = "[unk]"
GRAMMARS_KEPT = 16


class VoskDecoder:
    """Vosk with the model in a folder (vosk is Apache-2.0; a model has its own licence).

    Raises ModelProblem if the folder is no usable model, ImportError, in one
    sentence, without the package.
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
        self._recognisers: OrderedDict[str, Any] = OrderedDict()

    def prepare(self, grammar: Grammar) -> None:
        """Compile the phrases of a grammar, or find them among those kept."""
        phrases = list(phrase_list(grammar))
        if not phrases:
            return
        listed = json.dumps([*phrases, UNKNOWN], ensure_ascii=False)
        key = hashlib.sha256(listed.encode()).hexdigest()
        if key not in self._recognisers:
            recogniser = self._vosk.KaldiRecognizer(self._model, RATE, listed)
            recogniser.SetWords(True)
            self._recognisers[key] = recogniser
            if len(self._recognisers) > GRAMMARS_KEPT:
                self._recognisers.popitem(last=False)
        self._recognisers.move_to_end(key)

    def decode(self, sound: Samples, grammar: Grammar) -> Guess:
        """Say which words of the phrases the sound most likely is, and how sure that is."""
        if not phrase_list(grammar):
            return Guess("", 0.0)
        self.prepare(grammar)
        recogniser = self._recognisers[next(reversed(self._recognisers))]
        recogniser.Reset()
        pcm = (np.clip(sound, -1.0, 1.0) * 32767).astype("<i2").tobytes()
        said = []
        if recogniser.AcceptWaveform(pcm):
            said.append(json.loads(recogniser.Result()))
        said.append(json.loads(recogniser.FinalResult()))
        return _guess([word for part in said for word in part.get("result", ())])

    def close(self) -> None:
        """Give the model's memory back."""
        self._recognisers.clear()
        self._model = None


def _guess(words: list[Mapping[str, Any]]) -> Guess:
    text = " ".join(str(word["word"]) for word in words)
    least = min((float(word["conf"]) for word in words), default=0.0)
    return Guess(text, 0.0 if UNKNOWN in text else min(1.0, least))


def _vosk() -> Any:  # noqa: ANN401 - the library has no types
    try:
        import vosk
    except ImportError as problem:
        raise ImportError(
            "The vosk ear needs the package vosk; install it with: pip install vosk"
        ) from problem
    vosk.SetLogLevel(-1)
    return vosk
