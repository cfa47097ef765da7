"""A graph of words compiled to a finite-state machine over the model's columns.

Rule of this file: everything is settled here, so that passing tokens is array
arithmetic and nothing else. Each state emits one column; the arcs into a state
stand together, so that one maximum over a run of them is one step.

How a word becomes states: its phones in a row, a blank that may stand between
any two (and must between two like ones), and at each node of the word graph a
blank that may last as long as the speaker likes: silence between words costs
nothing. The first and last silence may also hold stray sounds, at a price
(the column `NOISE`, added by passing.py).

Why not a ready-made decoder: kaldi-decoder (Apache-2.0, wheels everywhere)
returns the best path when it is asked. Here the score of *every* complete text
is needed after every chunk, for the margin to the runner-up, for rejection
and for accepting early; the machines are small enough to keep every token, so
nothing is pruned and the result is exact.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from callout.ear.built_in.pronunciations import PHONES, pronunciations
from callout.ear.built_in.word_graph import ROOT, WordArc, WordGraph

BLANK = 0
NOISE = len(PHONES) + 1
"""Column of leading and trailing silence: the blank, or any sound at a price."""
COLUMN = {phone: place + 1 for place, phone in enumerate(PHONES)}

Ints = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Machine:
    """What passing.py needs, as arrays.

    Fields:
        emits: column that each state emits, int32 [states]
        begins_word: index of the word arc that a state begins, or -1, int32 [states]
        ends_word: the same for the state that ends it
        sources: states that arcs come from, grouped by the state they lead to, int32 [arcs]
        prices: what each of these arcs costs, float32 [arcs]; 0 but for some words' beginnings
        firsts: where each state's group starts in `sources`, int32 [states]
        targets, target_prices, target_firsts: the same arcs the other way round
        finals: states at which a complete text may end, int32 [finals]
        final_nodes: word-graph node of each of these, int32 [finals]
        word_arcs: the arcs of the word graph, each once for each pronunciation
    """

    emits: Ints
    begins_word: Ints
    ends_word: Ints
    sources: Ints
    prices: NDArray[np.float32]
    firsts: Ints
    targets: Ints
    target_prices: NDArray[np.float32]
    target_firsts: Ints
    finals: Ints
    final_nodes: Ints
    word_arcs: tuple[WordArc, ...]

    @property
    def states(self) -> int:
        """How many states there are; state 0 is the silence before the first word."""
        return len(self.emits)

    def into(self, state: int) -> tuple[Ints, NDArray[np.float32]]:
        """Return the states that lead to this one, itself among them, and the prices."""
        group = _group(self.firsts, len(self.sources), state)
        return self.sources[group], self.prices[group]

    def out_of(self, state: int) -> tuple[Ints, NDArray[np.float32]]:
        """Return the states that this one leads to, itself among them, and the prices."""
        group = _group(self.target_firsts, len(self.targets), state)
        return self.targets[group], self.target_prices[group]


def compile_graph(graph: WordGraph) -> Machine:
    """Make the machine that accepts exactly the texts of `graph`."""
    building = _Building()
    for arc in graph.arcs:
        for phones in pronunciations(arc.word):
            building.add_word(arc, [COLUMN[phone] for phone in phones])
    building.join_words(graph)
    return building.machine()


class _Building:
    """States and arcs as they are made."""

    def __init__(self) -> None:
        self.emits: list[int] = [NOISE]
        self.into: list[list[int]] = [[0]]
        self.begins: dict[int, int] = {}
        self.ends: dict[int, int] = {}
        self.word_arcs: list[WordArc] = []
        self.first_of: dict[int, list[int]] = defaultdict(list)
        self.last_of: dict[int, list[int]] = defaultdict(list)
        self.finals: list[tuple[int, int]] = []

    def add_state(self, column: int) -> int:
        state = len(self.emits)
        self.emits.append(column)
        self.into.append([state])
        return state

    def add_word(self, arc: WordArc, columns: list[int]) -> None:
        """One pronunciation of one arc: a row of states, not joined to anything yet."""
        state = first = self.add_state(columns[0])
        for before, column in itertools.pairwise(columns):
            blank = self.add_state(BLANK)
            self.into[blank].append(state)
            after = self.add_state(column)
            self.into[after].append(blank)
            if column != before:
                self.into[after].append(state)
            state = after
        self.begins[first] = self.ends[state] = len(self.word_arcs)
        self.word_arcs.append(arc)
        self.first_of[arc.start].append(first)
        self.last_of[arc.end].append(state)

    def join_words(self, graph: WordGraph) -> None:
        """Join words at the nodes: through a silence, or at once where the phones differ."""
        for node in range(graph.nodes):
            lasts = self.last_of[node]
            onward = (node, *graph.skips.get(node, ()))
            firsts = [first for to in onward for first in self.first_of[to]]
            if node in graph.ends:
                self._end_at(node, lasts)
            if not firsts or not (lasts or node == ROOT):
                continue
            silence = 0 if node == ROOT else self.add_state(BLANK)
            self.into[silence] += lasts
            for first in firsts:
                self.into[first].append(silence)
                self.into[first] += [s for s in lasts if self.emits[s] != self.emits[first]]

    def _end_at(self, node: int, lasts: list[int]) -> None:
        tail = self.add_state(NOISE)
        self.into[tail] += lasts
        self.finals += [(state, node) for state in (tail, *lasts)]

    def _prices(self, to: Ints, source: Ints) -> NDArray[np.float32]:
        """Price of each arc: of the word it begins; staying in a state begins nothing."""
        price = np.zeros(len(self.emits), np.float32)
        for state, arc in self.begins.items():
            price[state] = self.word_arcs[arc].price
        return np.where(to == source, np.float32(0), price[to]).astype(np.float32)

    def machine(self) -> Machine:
        sources, firsts = _flat(self.into)
        out_of: list[list[int]] = [[] for _ in self.into]
        for state, before in enumerate(self.into):
            for source in before:
                out_of[source].append(state)
        targets, target_firsts = _flat(out_of)
        return Machine(
            emits=np.array(self.emits, np.int32),
            begins_word=_marks(self.begins, len(self.emits)),
            ends_word=_marks(self.ends, len(self.emits)),
            sources=sources,
            prices=self._prices(
                np.repeat(np.arange(len(self.emits)), _lengths(self.into)), sources
            ),
            firsts=firsts,
            targets=targets,
            target_prices=self._prices(
                targets, np.repeat(np.arange(len(out_of)), _lengths(out_of))
            ),
            target_firsts=target_firsts,
            finals=np.array([state for state, _ in self.finals], np.int32),
            final_nodes=np.array([node for _, node in self.finals], np.int32),
            word_arcs=tuple(self.word_arcs),
        )


def _flat(groups: list[list[int]]) -> tuple[Ints, Ints]:
    """Put groups one after another, and say where each begins; no group is empty."""
    lengths = _lengths(groups)
    flat = np.array([state for group in groups for state in group], np.int32)
    return flat, np.concatenate([[0], np.cumsum(lengths[:-1])]).astype(np.int32)


def _lengths(groups: list[list[int]]) -> list[int]:
    return [len(group) for group in groups]


def _group(firsts: Ints, count: int, state: int) -> slice:
    end = int(firsts[state + 1]) if state + 1 < len(firsts) else count
    return slice(int(firsts[state]), end)


def _marks(marked: dict[int, int], states: int) -> Ints:
    marks = np.full(states, -1, np.int32)
    for state, arc in marked.items():
        marks[state] = arc
    return marks
