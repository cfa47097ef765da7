"""Tokens passed through a machine, row by row, and the best texts they stand for.

Rule of this file: exact, nothing is pruned. Scores are natural logarithms of
probabilities under CTC (Graves et al. 2006); a token's score is that of the
best alignment (Viterbi) so far.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from callout.ear.built_in.machine import BLANK, NOISE, Machine

Floats = NDArray[np.float32]

NEVER = np.float32(-1e30)
"""Score of what cannot be; finite, so that sums of two stay comparable."""
NOISE_PRICE = 8.0
"""What a row of stray sound before or after the words costs (natural logarithm). At 3 a badly
spoken digit was cheaper as noise, and "four five" was heard as "five".
"""
TRIES = 24
"""So many word arcs are looked at for runners-up."""
WORTH = 30.0
"""A text further behind the best than this is no runner-up."""


@dataclass(frozen=True, slots=True)
class Path:
    """One text and its best alignment.

    Fields:
        text: words separated by single spaces
        node: word-graph node at which it ends
        score: natural logarithm of the best alignment's probability, prices taken off
        price: of the words
        states: machine state at each row
        words: (word, first row, last row) of each word
    """

    text: str
    node: int
    score: float
    price: float
    states: tuple[int, ...]
    words: tuple[tuple[str, int, int], ...]


def with_noise(rows: Floats) -> Floats:
    """Rows of the model ([n, 40]) with the column NOISE added ([n, 41])."""
    stray = rows[:, BLANK + 1 :].max(axis=1, initial=NEVER) - np.float32(NOISE_PRICE)
    return np.concatenate([rows, np.maximum(rows[:, BLANK], stray)[:, None]], axis=1)


class TokenPassing:
    """One utterance going through one machine."""

    def __init__(self, machine: Machine) -> None:
        self._machine = machine
        self._now = np.full(machine.states, NEVER, np.float32)
        self._now[0] = 0.0
        self._scores: list[Floats] = []
        self._emitted: list[Floats] = []

    @property
    def rows(self) -> int:
        """How many rows have been heard."""
        return len(self._scores)

    def push(self, rows: Floats) -> None:
        """Hear rows of the model, [n, 40]; each costs one pass over all states."""
        machine = self._machine
        for emitted in with_noise(rows)[:, machine.emits]:
            coming = self._now[machine.sources] - machine.prices
            best = np.maximum.reduceat(coming, machine.firsts)
            self._now = np.maximum(best + emitted, NEVER)
            self._scores.append(self._now)
            self._emitted.append(emitted)

    def best_end(self) -> tuple[float, int]:
        """Score and word-graph node of the best complete text so far (NEVER, -1 for none)."""
        if not len(self._machine.finals) or not self._scores:
            return float(NEVER), -1
        scores = self._now[self._machine.finals]
        place = int(scores.argmax())
        return float(scores[place]), int(self._machine.final_nodes[place])

    def best_alive(self) -> float:
        """Score of the best token anywhere, complete or not."""
        return float(self._now.max())

    def best(self) -> Path | None:
        """Return the best complete text, or None if there is none."""
        if self.best_end()[0] <= NEVER / 2:
            return None
        place = int(self._now[self._machine.finals].argmax())
        return self._path(self._back(self.rows - 1, int(self._machine.finals[place])))

    def n_best(self, most: int) -> list[Path]:
        """Return the best texts, each once, best first.

        The graph of words has no circles, so a second text takes at least one
        arc that the first does not, or stops sooner: the best path through each
        arc and to each end is looked at. The first two are exact; later ones
        are good.
        """
        best = self.best()
        if best is None:
            return []
        found = {best.text: best}
        ends, seen = {best.node}, set(best.states)
        for score, row, state, node in self._ways(TRIES + 2 * len(best.words)):
            if len(found) >= most or score < best.score - WORTH:
                break
            if node in ends or (node < 0 and state in seen):
                continue
            path = self._path(self._through(row, state))
            ends.add(path.node)
            seen.update(path.states)
            found.setdefault(path.text, path)
        return sorted(found.values(), key=lambda path: -path.score)

    def _ways(self, most: int) -> list[tuple[float, int, int, int]]:
        """(score, row, state, node) of the best paths through each word arc and to each end.

        The node is that of the end, -1 for an arc.
        """
        machine = self._machine
        self._after = self._backward()
        begins = np.flatnonzero(machine.begins_word >= 0)
        through = np.stack(self._scores)[:, begins] + self._after[:, begins]
        rows = np.concatenate([through.argmax(axis=0), np.full(len(machine.finals), self.rows - 1)])
        scores = np.concatenate([through.max(axis=0), self._now[machine.finals]])
        states = np.concatenate([begins, machine.finals])
        nodes = np.concatenate([np.full(len(begins), -1), machine.final_nodes])
        return [
            (float(scores[i]), int(rows[i]), int(states[i]), int(nodes[i]))
            for i in np.argsort(-scores, kind="stable")[:most]
        ]

    def _backward(self) -> Floats:
        """Best score of what follows each state at each row, [rows, states]."""
        machine = self._machine
        after = np.full((self.rows, machine.states), NEVER, np.float32)
        after[-1, machine.finals] = 0.0
        for row in range(self.rows - 2, -1, -1):
            ahead = np.maximum(after[row + 1] + self._emitted[row + 1], NEVER)
            onward = ahead[machine.targets] - machine.target_prices
            after[row] = np.maximum.reduceat(onward, machine.target_firsts)
        return after

    def _back(self, row: int, state: int) -> list[int]:
        """Return the states of the best path up to `state` at `row`."""
        machine = self._machine
        states = [state]
        for earlier in range(row - 1, -1, -1):
            sources, prices = machine.into(state)
            state = int(sources[(self._scores[earlier][sources] - prices).argmax()])
            states.append(state)
        return states[::-1]

    def _through(self, row: int, state: int) -> list[int]:
        """Return the states of the best complete path that is in `state` at `row`."""
        states = self._back(row, state)
        for later in range(row + 1, self.rows):
            targets, prices = self._machine.out_of(state)
            ahead = self._after[later][targets] + self._emitted[later][targets] - prices
            state = int(targets[ahead.argmax()])
            states.append(state)
        return states

    def _path(self, states: list[int]) -> Path:
        machine = self._machine
        words: list[tuple[str, int, int]] = []
        before, price = -1, 0.0
        for row, state in enumerate(states):
            if machine.begins_word[state] >= 0 and state != before:
                arc = machine.word_arcs[machine.begins_word[state]]
                words.append((arc.word, row, row))
                price += arc.price
            if words and machine.emits[state] not in (BLANK, NOISE):
                words[-1] = (*words[-1][:2], row)
            before = state
        emitted = sum(float(self._emitted[row][state]) for row, state in enumerate(states))
        text = " ".join(word for word, _, _ in words)
        node = int(machine.final_nodes[np.flatnonzero(machine.finals == states[-1])[0]])
        return Path(text, node, emitted - price, price, tuple(states), tuple(words))
