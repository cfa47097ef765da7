"""How far the certainty of the ear as a whole is from how often it is right.

Rule of this file: the certainty is the ear's own, with the weight of what is likely
(callout.words.phrases.EXPECTED) and the doubts that it puts on what models.confidence fitted.
Nothing is fitted or written here. All phrases but the universal words count as expected, right or
not, so that what is measured is the weight and not that the right one had it. An answer that is
refused because something was said beside it (ear/built_in/alone.py) is counted by its certainty.

    python -m models.calibration --model models --sets SETS [--most 60]

prints the calibration error (ten bins), with the examples weighed as in the fit, with and without
that weight; SETS is made by models.kept_sets.
"""

from __future__ import annotations

import argparse
import json
import random
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from callout.ear.acoustic import AcousticModel
from callout.ear.built_in.grammar_machine import GrammarMachine
from callout.ear.built_in.judging import Confidence
from callout.ear.built_in.lag import Lag
from callout.running.recording_sets import Clip, mixed, one_in, pad, read_set
from callout.words.phrases import EXPECTED, Grammar
from callout.words.understand import plain
from models import confidence as fitted

SPEECH, TALK, NOISE = ("words-dev", "kokoro-dev", "classic-dev"), "talk-dev", "noise-dev"
"""Talk and noise are not those of the fit; of the speech only a third of the people is taken."""
GRAMMARS, TALK_GRAMMARS = 2, 6


def expected(grammar: Grammar) -> Grammar:
    """The grammar as a session would have it: what is no universal word is an expected answer."""
    phrases = tuple(
        phrase if phrase.text in fitted.ALWAYS else replace(phrase, likely=EXPECTED)
        for phrase in grammar.phrases
    )
    return replace(grammar, phrases=phrases)


def heard(
    model: AcousticModel, lag: Lag, confidence: Confidence, clip: Clip, noises: Sequence[Clip],
    pool: Sequence[str],
) -> Iterator[tuple[bool, float, bool]]:  # fmt: skip
    """(whether likely answers weighed, certainty, whether it was right) of each utterance."""
    rng = random.Random(zlib.crc32(f"calibration/{clip.place}/{clip.text}".encode()))
    sound = mixed(pad(clip, 0.5, 1.0), noises, rng.choice(fitted.SNRS))
    stream = model.stream()
    rows = np.concatenate([stream.push(sound), stream.finish()])
    text = plain(clip.text)
    for _ in range(GRAMMARS if text else TALK_GRAMMARS):
        plainly = fitted.grammar_for(text, pool, rng)
        for weighed, grammar in ((False, plainly), (True, expected(plainly))):
            machine = GrammarMachine(grammar)
            for end in fitted.ends(rows, sound, machine, lag, confidence):
                if end.judgement:
                    said = machine.meaning(end.judgement.text)
                    right = bool(text) and said == machine.meaning(text)
                    yield weighed, end.judgement.certainty, right


def main() -> None:
    """Hear and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--model", type=Path, required=True)
    parser.add_argument("--sets", type=Path, required=True, help="made by models.kept_sets")
    parser.add_argument("--most", type=int, default=60, help="recordings of each set")
    asked = parser.parse_args()
    model, lag = AcousticModel(asked.model), Lag.read(asked.model)
    confidence = Confidence.read(asked.model / "confidence.json")
    clips = [
        clip
        for name in SPEECH
        for clip in one_in(
            [c for c in read_set(asked.sets / f"{name}.json") if _kept(c)], asked.most
        )
    ]
    pool = sorted({plain(clip.text) for clip in clips if 0 < len(clip.text.split()) <= 4})
    talk = one_in(read_set(asked.sets / f"{TALK}.json"), asked.most)
    clips += [replace(clip, text="") for clip in talk]
    noises = read_set(asked.sets / f"{NOISE}.json")
    found = [one for clip in clips for one in heard(model, lag, confidence, clip, noises, pool)]
    for weighed in (False, True):
        pairs = [(certainty, right) for w, certainty, right in found if w is weighed]
        print(json.dumps({"likely_weighs": weighed, **fitted.figures_of(pairs)}))


def _kept(clip: Clip) -> bool:
    """Whether the fit held this speaker out."""
    return zlib.crc32(clip.speaker.encode()) % 3 == 0


if __name__ == "__main__":
    main()
