"""How sure one may be that a text was said: measures of a match, and the certainty they give.

Rule of this file: numbers in, numbers out. What weighs how much was fitted to
recordings (models/confidence.py writes `confidence.json` beside the model) and
is not decided here.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from callout.ear.built_in.alone import WORST_WORD, alone
from callout.ear.built_in.machine import BLANK, NOISE, Machine
from callout.ear.built_in.passing import Path as Alignment
from callout.ear.built_in.passing import TokenPassing
from callout.ear.built_in.scoring import forward_scores

Floats = NDArray[np.float32]

CANDIDATES = 6
"""So many texts are compared."""
PACE = 2.0
"""Rows that a phone takes when somebody speaks neither fast nor slowly (80 ms)."""
NO_RUNNER_UP = 20.0
"""Margin that counts as a mile (natural logarithm)."""

MEASURES: tuple[str, ...] = (
    "constant",
    "match",
    "worst word",
    "margin",
    "stray",
    "phones",
    "fast",
    "slow",
    "missed",
    "words",
    "alone",
    "above",
    "clear",
    "weakest",
    "vague",
    "silent",
)
"""Names of what `measure` gives, in its order."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """What was probably said.

    Fields:
        text: normalised words
        certainty: 0 .. 1, calibrated on recordings
        words: (word, first row, last row)
        runner_up: the best text that means something else, "" for none
        measures: what the certainty was made of, in the order of MEASURES
        alone: whether each word fits and nothing else was said before or after
    """

    text: str
    certainty: float
    words: tuple[tuple[str, int, int], ...]
    runner_up: str
    measures: tuple[float, ...]
    alone: bool


@dataclass(frozen=True, slots=True)
class Confidence:
    """Weights of the measures; `offset` is a speaker's own, from enrolment."""

    weights: tuple[float, ...]
    offset: float = 0.0

    @staticmethod
    def read(path: Path) -> Confidence:
        """Read the weights beside the model, by name."""
        weights = json.loads(path.read_text(encoding="utf-8"))["weights"]
        return Confidence(tuple(float(weights[name]) for name in MEASURES))

    def of(self, measures: Sequence[float]) -> float:
        """Certainty, 0 .. 1."""
        weighed = sum(w * m for w, m in zip(self.weights, measures, strict=True)) + self.offset
        return 1.0 / (1.0 + math.exp(-max(-60.0, min(60.0, weighed))))


@dataclass(frozen=True, slots=True)
class Sounded:
    """How loud the rows of an utterance were, asked of what heard the sound.

    Fields:
        stands_out: how far (dB) rows, first to last, are above those before and after them
        audible: which rows of all ([n]) are loud enough to be somebody's who said the words at
            rows first to last
    """

    stands_out: Callable[[int, int], tuple[float, float]]
    audible: Callable[[int, int], NDArray[np.bool_]]


def judge(
    rows: Floats,
    passing: TokenPassing,
    machine: Machine,
    confidence: Confidence,
    meaning: Callable[[str], object],
    likely: Callable[[str], float],
    sounded: Sounded,
) -> Judgement | None:
    """Judge what was said in `rows` ([n, 40]), all of which went through `passing`.

    `meaning` tells what a text means, None if nothing: two texts of one meaning
    are no rivals. `likely` tells how much likelier a text is meant than others
    (natural logarithm). Returns None when no text of the grammar fits into the rows.
    """
    meant = [(p, meaning(p.text)) for p in passing.n_best(CANDIDATES)]
    meant = [(path, means) for path, means in meant if means is not None]
    if not meant:
        return None
    scores = _exact(rows, machine, [path for path, _ in meant])
    prices = [path.price - likely(path.text) for path, _ in meant]
    exact, scores = scores, scores - np.array(prices, np.float32)
    first = int(scores.argmax())
    best, means = meant[first]
    rivals = [place for place, (_, other) in enumerate(meant) if other != means]
    runner_up = max(rivals, key=lambda place: scores[place], default=None)
    margin = NO_RUNNER_UP if runner_up is None else float(scores[first] - scores[runner_up])
    begins, ends = best.words[0][1], best.words[-1][2]
    above = sounded.stands_out(begins, ends)
    measures = measure(rows, machine, best, float(exact[first]), margin, above)
    text = "" if runner_up is None else meant[runner_up][0].text
    audible = sounded.audible(begins, ends)
    by_itself = measures[MEASURES.index("worst word")] <= WORST_WORD
    by_itself &= alone(rows, machine.emits[list(best.states)], begins, audible)
    return Judgement(best.text, confidence.of(measures), best.words, text, measures, by_itself)


def measure(
    rows: Floats,
    machine: Machine,
    path: Alignment,
    score: float,
    margin: float,
    above: tuple[float, float],
) -> tuple[float, ...]:
    """What can be said of a match, each about 0 .. 3, in the order of MEASURES."""
    columns = machine.emits[list(path.states)]
    free = rows.max(axis=1)
    sounds = (columns != BLANK) & (columns != NOISE)
    emitted = np.where(columns == NOISE, free, rows[np.arange(len(rows)), columns % NOISE])
    loss = free - emitted
    stray = float(((columns == NOISE) & (rows.argmax(axis=1) != BLANK)).sum())
    phones = max(1, _phones(columns))
    spans = _spans(path)
    worst = max(
        float(loss[first:last].sum()) / max(1, _phones(columns[first:last]))
        for first, last in spans
    )
    between = loss[spans[0][0] : spans[-1][1]]
    missed = float(between[~sounds[spans[0][0] : spans[-1][1]]].sum())
    pace = math.log((spans[-1][1] - spans[0][0]) / phones / PACE)
    return (
        1.0,
        math.sqrt(max(0.0, float(free.sum()) - score) / phones),
        math.sqrt(worst),
        math.log1p(max(0.0, min(NO_RUNNER_UP, margin))),
        math.log1p(stray),
        math.log(phones),
        max(0.0, -pace),
        max(0.0, pace),
        math.log1p(missed),
        math.log(len(path.words)),
        math.log1p(min(above)),
        math.log1p(max(above)),
        *_clearness(rows, path.states, columns, spans[0][0], spans[-1][1]),
    )


def _clearness(
    rows: Floats, states: Sequence[int], columns: NDArray[np.int32], begin: int, end: int
) -> tuple[float, float, float, float]:
    """How clearly the model shows the phones of a match: in noise it shows none for certain.

    Mean of the phones' highest probabilities; root of what the faintest of them lost; mean
    entropy of the rows from the first word to the last; mean probability of the blank there.
    """
    best: dict[int, float] = {}
    for row, (state, column) in enumerate(zip(states, columns.tolist(), strict=True)):
        if column not in (BLANK, NOISE):
            best[state] = max(best.get(state, -math.inf), float(rows[row, column]))
    inside = rows[begin:end]
    chances = np.exp(inside)
    return (
        float(np.exp(list(best.values())).mean()),
        math.sqrt(max(0.0, -min(best.values()))),
        float(-(chances * inside).sum(axis=1).mean()),
        float(chances[:, BLANK].mean()),
    )


def _spans(path: Alignment) -> list[tuple[int, int]]:
    """First row of each word, and the row after its last."""
    return [(first, last + 1) for _, first, last in path.words]


def _phones(columns: NDArray[np.int32]) -> int:
    """How many phones a row of columns says, repeats merged."""
    sounds = (columns != BLANK) & (columns != NOISE)
    new = np.ones(len(columns), bool)
    new[1:] = columns[1:] != columns[:-1]
    return int((sounds & new).sum())


def _exact(rows: Floats, machine: Machine, paths: Sequence[Alignment]) -> Floats:
    """Forward score of each path's phones, as it was pronounced on that path."""
    texts = []
    for path in paths:
        columns: list[int] = []
        before = -1
        for state in path.states:
            column = int(machine.emits[state])
            if state != before and column not in (BLANK, NOISE):
                columns.append(column)
            before = state
        texts.append(columns)
    return forward_scores(rows, texts)
