"""A pilot's own profile: what is understood of him, before and after adapting to him.

Rule of this file: measuring, adapting and keeping; nothing is asked or shown
here. Before and after are measured on utterances that the adaptation has not
seen (two halves, each adapted on the other).
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from callout.audio_block import Samples
from callout.ear.built_in.adapter import Adapter, learn
from callout.ear.built_in.grammar_machine import GrammarMachine
from callout.ear.built_in.headset import Colour, Listening
from callout.ear.built_in.judging import Confidence, Judgement, Sounded, judge
from callout.ear.built_in.loudness import MOST
from callout.ear.built_in.passing import TokenPassing
from callout.words.phrases import Grammar, Phrase

Floats = NDArray[np.float32]
Model = Callable[[Samples], Floats]
"""Sound of one utterance -> rows of the model."""

RIDGES = (300.0, 30.0, 3.0)
"""How tightly the correction is held, from hardly any to most; one is kept if it helps."""
PRIOR = 4.0
"""The speaker's own offset of certainty is drawn to 0 as by so many utterances."""
MOST_OFFSET = 1.0
"""The offset may not make the ear more trusting or more timid than by this (log odds)."""


@dataclass(frozen=True, slots=True)
class Said:
    """One word or phrase as it was read: its text and the rows of the model."""

    text: str
    rows: Floats


@dataclass(frozen=True, slots=True)
class Measured:
    """How well a speaker is understood.

    Fields:
        n: utterances
        right, sure: the nearest text was right; and sure enough to be accepted
        missed: texts that were not accepted or mistaken, in the order read
    """

    n: int
    right: int
    sure: int
    missed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Profile:
    """What is kept of a speaker.

    Fields:
        name: as given
        adapter: correction of the model's rows, None when none helped
        offset: his own offset of certainty (log odds)
        colour: of his voice in his headset, None if too little was heard
        before, after: measured
    """

    name: str
    adapter: Adapter | None
    offset: float
    colour: Colour | None
    before: Measured
    after: Measured


def enrol(
    name: str, said: Sequence[Said], sound: Samples, confidence: Confidence, least: float
) -> Profile:
    """Make a profile from utterances of known text.

    `sound` is all that was heard, at 16 kHz; `least` the certainty at which an
    answer is accepted. Raises ValueError with one sentence if too little was said.
    """
    if len(said) < 8:
        raise ValueError(f"Only {len(said)} utterances were heard; at least 8 are needed.")
    grammar = vocabulary({one.text for one in said}, least)
    before = measure(said, grammar, confidence, None)
    ridge = _best_ridge(said, grammar, confidence)
    judged: list[tuple[Said, Judgement | None]] = []
    for others, these in _halves(said):
        adapter = learn([(one.rows, one.text) for one in others], ridge) if ridge else None
        judged += _judged(these, grammar, confidence, adapter)
    offset = _offset([(j.certainty, j.text == one.text) for one, j in judged if j])
    after = _sum(said, judged, replace(confidence, offset=offset), least)
    adapter = learn([(one.rows, one.text) for one in said], ridge) if ridge else None
    listening = Listening()
    listening.hear(sound)
    return Profile(name, adapter, offset, listening.colour(), before, after)


def vocabulary(texts: set[str], least: float) -> Grammar:
    """The grammar in which the utterances are measured."""
    return Grammar(1, tuple(Phrase(text, text, least) for text in sorted(texts)))


def measure(
    said: Sequence[Said], grammar: Grammar, confidence: Confidence, adapter: Adapter | None
) -> Measured:
    """How well these utterances are understood."""
    least = grammar.phrases[0].certainty
    return _sum(said, _judged(said, grammar, confidence, adapter), confidence, least)


def _judged(
    said: Sequence[Said], grammar: Grammar, confidence: Confidence, adapter: Adapter | None
) -> list[tuple[Said, Judgement | None]]:
    machine = GrammarMachine(grammar)
    judged = []
    for one in said:
        rows = adapter(one.rows) if adapter else one.rows
        passing = TokenPassing(machine.machine)
        passing.push(rows)
        meaning, likely, sounded = machine.meaning, machine.likely, _by_itself(len(rows))
        found = judge(rows, passing, machine.machine, confidence, meaning, likely, sounded)
        judged.append((one, found))
    return judged


def _by_itself(count: int) -> Sounded:
    """What is read for enrolment stands by itself."""
    return Sounded(lambda *_: (MOST, MOST), lambda *_: np.ones(count, bool))


def _sum(
    said: Sequence[Said],
    judged: Sequence[tuple[Said, Judgement | None]],
    confidence: Confidence,
    least: float,
) -> Measured:
    right = [one.text for one, j in judged if j and j.text == one.text]
    sure = [
        one.text
        for one, j in judged
        if j and j.text == one.text and confidence.of(j.measures) >= least
    ]
    good = set(sure)
    missed = tuple(dict.fromkeys(one.text for one in said if one.text not in good))
    return Measured(len(said), len(right), len(sure), missed)


def _halves(said: Sequence[Said]) -> tuple[tuple[Sequence[Said], Sequence[Said]], ...]:
    return ((said[::2], said[1::2]), (said[1::2], said[::2]))


def _best_ridge(said: Sequence[Said], grammar: Grammar, confidence: Confidence) -> float | None:
    """The ridge whose correction understands the other half best; None if none helps."""
    best, kept = _quality(_judged(said, grammar, confidence, None)), None
    for ridge in RIDGES:
        judged: list[tuple[Said, Judgement | None]] = []
        for others, these in _halves(said):
            adapter = learn([(one.rows, one.text) for one in others], ridge)
            judged += _judged(these, grammar, confidence, adapter)
        quality = _quality(judged)
        if quality > best + 0.01:
            best, kept = quality, ridge
    return kept


def _quality(judged: Sequence[tuple[Said, Judgement | None]]) -> float:
    """Mean logarithm of the certainty that the right text got, or of the doubt in a wrong one."""
    chances = [
        (j.certainty if j.text == one.text else 1.0 - j.certainty) if j else 0.05
        for one, j in judged
    ]
    wrong = sum(1 for one, j in judged if not j or j.text != one.text)
    return float(np.mean(np.log(np.clip(chances, 0.01, 1.0)))) - wrong / max(1, len(judged))


def _offset(pairs: Sequence[tuple[float, bool]]) -> float:
    """The log odds to add so that certainty and share right agree, held near 0."""
    odds = [math.log((c + 1e-6) / (1 - c + 1e-6)) for c, _ in pairs]
    offset = 0.0
    for _ in range(20):
        chances = [1 / (1 + math.exp(-(o + offset))) for o in odds]
        slope = sum(right - c for (_, right), c in zip(pairs, chances, strict=True))
        curve = sum(c * (1 - c) for c in chances)
        offset += (slope - PRIOR * offset * 0.25) / (curve + PRIOR * 0.25)
        offset = max(-MOST_OFFSET, min(MOST_OFFSET, offset))
    return offset


def save(profile: Profile, path: Path) -> None:
    """Write a profile, whole or not at all."""
    adapter = profile.adapter
    about = {
        "callout_profile": 1,
        "name": profile.name,
        "turn": adapter and np.round(adapter.turn, 5).tolist(),
        "shift": adapter and np.round(adapter.shift, 5).tolist(),
        "offset": round(profile.offset, 4),
        "colour": profile.colour
        and [None if b != b else round(b, 2) for b in profile.colour.bands],
        "before": _as_list(profile.before),
        "after": _as_list(profile.after),
    }
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_suffix(".new")
    beside.write_text(json.dumps(about) + "\n", encoding="utf-8")
    beside.replace(path)


def _as_list(measured: Measured) -> list[object]:
    return [measured.n, measured.right, measured.sure, list(measured.missed)]


def _measured(kept: Sequence[Any]) -> Measured:
    n, right, sure, missed = kept
    return Measured(int(n), int(right), int(sure), tuple(missed))


def read(path: Path) -> Profile:
    """Read a profile back.  Raises ValueError with one sentence for people."""
    try:
        about = json.loads(path.read_text(encoding="utf-8"))
        if about["callout_profile"] != 1:
            raise ValueError("it was written by another version")
        bands = about["colour"]
        turn, shift = about["turn"], about["shift"]
        return Profile(
            about["name"],
            turn and Adapter(np.array(turn, np.float32), np.array(shift, np.float32)),
            float(about["offset"]),
            bands and Colour(tuple(math.nan if b is None else float(b) for b in bands)),
            _measured(about["before"]),
            _measured(about["after"]),
        )
    except (OSError, ValueError, KeyError, TypeError) as problem:
        raise ValueError(f"The profile {path} cannot be used: {problem}.") from problem
