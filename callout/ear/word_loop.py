"""A listener that is nobody's ear: PocketSphinx, in a loop of words.

Rule of this file: any of the words may follow any other, so nothing but the
sound says which were spoken. It is a second opinion on what callout says, and
never listens to a pilot.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from callout.audio_block import Samples
from callout.ear.endpoint import RATE
from callout.ear.problems import EarProblem
from callout.ear.pronounce import spell

FLOOR = 0.0005
"""Noise under everything: digital silence upsets the decoder's running mean."""
AROUND = 0.3
"""Seconds of it before and after."""


class WordLoop:
    """Hears sequences of the given words.  Raises EarProblem without PocketSphinx.

    Fields:
        strange: the words that have no sound for it and are not listened for
    """

    def __init__(self, words: Iterable[str]) -> None:
        try:
            from pocketsphinx import Decoder
        except ImportError as problem:
            raise EarProblem(
                "Measuring calls needs the package pocketsphinx; install it with: "
                "pip install pocketsphinx"
            ) from problem
        # One pass and few hypotheses (a third of the time); each word costs something, since a
        # loop of words has no other reason not to hear a short one in every breath.
        self._decoder: Any = Decoder(
            samprate=RATE, loglevel="FATAL", fwdflat=False, bestpath=False, maxhmmpf=2000, wip=1e-3
        )
        wanted = sorted(set(words))
        self.strange = self._learn(wanted)
        known = [word for word in wanted if word not in self.strange]
        rule = f"#JSGF V1.0; grammar g; public <g> = ( {' | '.join(known)} )+;"
        self._decoder.add_jsgf_string("loop", rule)
        self._decoder.activate_search("loop")

    def hear(self, sound: Samples) -> str:
        """What it understands in 16 kHz sound."""
        around = np.zeros(round(AROUND * RATE), np.float32)
        padded = np.concatenate([around, sound, around])
        padded = padded + np.random.default_rng(0).normal(0, FLOOR, len(padded))
        pcm = (np.clip(padded, -1.0, 1.0) * 32767).astype("<i2").tobytes()
        self._decoder.reinit_feat()  # else the sound before this one moves the score
        self._decoder.start_utt()
        self._decoder.process_raw(pcm, full_utt=True)
        self._decoder.end_utt()
        best = self._decoder.hyp()
        return str(best.hypstr) if best else ""

    def _learn(self, words: list[str]) -> frozenset[str]:
        """Add words that its dictionary lacks as they are spelled; those that cannot be."""
        lacking = [word for word in words if self._decoder.lookup_word(word) is None]
        sounds = spell(lacking)
        for word, phones in sounds.items():
            self._decoder.add_word(word, " ".join(phones), True)
        return frozenset(lacking) - sounds.keys()
