"""Machines for single phrases and numbers, put side by side: a grammar in a few milliseconds.

Rule of this file: array arithmetic only. Parts share nothing but the silence
before the first word, state 0 of each; what was compiled once is never compiled
again, whatever else counts beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from callout.ear.built_in.machine import Ints, Machine

Bounds = Sequence[int]
"""How many nodes the word graph of each part has."""


def join(parts: Sequence[Machine], nodes: Bounds) -> Machine:
    """Return one machine that accepts what any of the parts accepts; at least one part.

    Node n of part p becomes node n + sum(nodes[:p]).
    """
    before = np.concatenate([[0], np.cumsum([part.states - 1 for part in parts])])
    words = np.concatenate([[0], np.cumsum([len(part.word_arcs) for part in parts])])
    first_nodes = np.concatenate([[0], np.cumsum(nodes)])
    sources, prices, firsts = _arcs(
        [(part.sources, part.prices, part.firsts) for part in parts], before
    )
    targets, target_prices, target_firsts = _arcs(
        [(part.targets, part.target_prices, part.target_firsts) for part in parts], before
    )
    return Machine(
        emits=_stacked([part.emits for part in parts]),
        begins_word=_stacked(
            [_moved(p.begins_word, n) for p, n in zip(parts, words, strict=False)]
        ),
        ends_word=_stacked([_moved(p.ends_word, n) for p, n in zip(parts, words, strict=False)]),
        sources=sources,
        prices=prices,
        firsts=firsts,
        targets=targets,
        target_prices=target_prices,
        target_firsts=target_firsts,
        finals=_ints([p.finals + n for p, n in zip(parts, before, strict=False)]),
        final_nodes=_ints([p.final_nodes + n for p, n in zip(parts, first_nodes, strict=False)]),
        word_arcs=tuple(arc for part in parts for arc in part.word_arcs),
    )


def _stacked(columns: Sequence[Ints]) -> Ints:
    """One value a state: state 0 once, then the other states of each part."""
    return _ints([columns[0][:1], *(column[1:] for column in columns)])


def _moved(marks: Ints, by: int) -> Ints:
    """Indices of word arcs, moved; -1 stays."""
    return np.where(marks < 0, marks, marks + by).astype(np.int32)


def _arcs(
    parts: Sequence[tuple[Ints, NDArray[np.float32], Ints]], before: NDArray[Any]
) -> tuple[Ints, NDArray[np.float32], Ints]:
    """Arcs grouped by state, as in Machine: state 0's of all parts, then the others'."""
    roots, root_prices = [np.zeros(1, np.int64)], [np.zeros(1, np.float32)]
    others, other_prices, firsts = [], [], []
    for (states, prices, begins), by in zip(parts, before, strict=False):
        moved = np.where(states > 0, states + by, 0)
        end = int(begins[1]) if len(begins) > 1 else len(states)
        away = states[:end] > 0
        roots.append(moved[:end][away])
        root_prices.append(prices[:end][away])
        others.append(moved[end:])
        other_prices.append(prices[end:])
        firsts.append(begins[1:] - end)
    lengths = np.cumsum([sum(map(len, roots)), *(len(part) for part in others)])
    all_firsts = [
        roots[0],
        *(first + length for first, length in zip(firsts, lengths, strict=False)),
    ]
    every_price = np.concatenate([*root_prices, *other_prices]).astype(np.float32)
    return _ints([*roots, *others]), every_price, _ints(all_firsts)


def _ints(parts: Sequence[NDArray[Any]]) -> Ints:
    return np.concatenate(parts).astype(np.int32)
