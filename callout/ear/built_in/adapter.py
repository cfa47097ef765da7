"""A speaker's own correction of the model's columns: small, learned from known texts.

Rule of this file: rows in, rows out. The correction is one linear map of the
log-probabilities, held near doing nothing by a ridge penalty, so that a few
minutes of speech cannot spoil what the model learned from many people.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from callout.ear.built_in.machine import BLANK, NOISE, compile_graph
from callout.ear.built_in.passing import Path, TokenPassing
from callout.ear.built_in.word_graph import WordGraph

Floats = NDArray[np.float32]

LOWEST = -12.0
"""Log-probabilities below this are as good as this: they would rule the fit."""
STEPS = 300
RATE = 0.05
MOMENTUM = 0.9


@dataclass(frozen=True, slots=True)
class Adapter:
    """rows -> log softmax(rows + rows @ turn + shift).

    Fields:
        turn: float32 [40, 40]
        shift: float32 [40]
    """

    turn: Floats
    shift: Floats

    def __call__(self, rows: Floats) -> Floats:
        """Correct rows of the model, [n, 40]."""
        low = np.maximum(rows, np.float32(LOWEST))
        moved = rows + low @ self.turn + self.shift
        whole = np.logaddexp.reduce(moved, axis=1, keepdims=True)
        return (moved - whole).astype(np.float32)


def align(rows: Floats, text: str) -> Path | None:
    """Lay a known text over the rows of one utterance; None if it is too long for them."""
    graph = WordGraph()
    graph.ends.add(graph.add(text))
    passing = TokenPassing(compile_graph(graph))
    passing.push(rows)
    return passing.best()


def targets(rows: Floats, text: str) -> tuple[Floats, NDArray[np.int64]]:
    """Rows with the column that each should show, silence around the words left out."""
    graph = WordGraph()
    graph.ends.add(graph.add(text))
    machine = compile_graph(graph)
    passing = TokenPassing(machine)
    passing.push(rows)
    path = passing.best()
    if path is None:
        return rows[:0], np.zeros(0, np.int64)
    columns = machine.emits[list(path.states)].astype(np.int64)
    inside = np.flatnonzero((columns != BLANK) & (columns != NOISE))
    span = slice(inside[0], inside[-1] + 1)
    return rows[span], np.where(columns[span] == NOISE, BLANK, columns[span])


def learn(examples: Sequence[tuple[Floats, str]], ridge: float) -> Adapter:
    """Learn from rows of utterances and their texts; a larger ridge changes less.

    Cross-entropy of the aligned columns; gradient steps with momentum, the
    penalty taken implicitly so that no ridge is too large for the step.
    """
    pairs = [targets(rows, text) for rows, text in examples]
    rows = np.concatenate([part for part, _ in pairs]).astype(np.float64)
    wanted = np.concatenate([columns for _, columns in pairs])
    low = np.maximum(rows, LOWEST)
    columns = rows.shape[1]
    weights = np.zeros((columns + 1, columns))
    inputs = np.concatenate([low / -LOWEST, np.ones((len(rows), 1))], axis=1)
    speed = np.zeros_like(weights)
    step = RATE * columns / max(1, len(rows))
    hot = np.eye(columns)[wanted]
    for _ in range(STEPS if len(rows) else 0):
        moved = rows + inputs @ weights
        chance = np.exp(moved - np.logaddexp.reduce(moved, axis=1, keepdims=True))
        speed = MOMENTUM * speed + step * (inputs.T @ (hot - chance))
        weights = (weights + speed) / (1 + step * ridge / (1 - MOMENTUM))
    return Adapter((weights[:-1] / -LOWEST).astype(np.float32), weights[-1].astype(np.float32))
