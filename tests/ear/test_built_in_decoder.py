"""The machine and the tokens against every alignment, written out one by one.

The reference is CTC by its definition (Graves et al. 2006): all rows of labels
are enumerated, repeats merged, blanks dropped. Nothing of the program's own
arithmetic is used in it.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.ear.built_in.joined import join
from callout.ear.built_in.machine import COLUMN, compile_graph
from callout.ear.built_in.passing import NOISE_PRICE, TokenPassing
from callout.ear.built_in.pronunciations import PHONES, pronunciations
from callout.ear.built_in.scoring import forward_scores
from callout.ear.built_in.word_graph import WordGraph

# Words made of few phones (N, OW, T, UW, S), so that all alignments can be listed.
TEXTS = ("no", "toe", "two", "toe no", "two no", "no no", "two two", "so")
USED = [COLUMN[phone] for phone in ("N", "OW", "T", "UW", "S")]


def collapse(labels: tuple[int, ...]) -> tuple[int, ...]:
    """Merge repeats, drop blanks: what a row of labels says."""
    return tuple(label for label, _ in itertools.groupby(labels) if label != 0)


def alignments(rows: np.ndarray) -> dict[tuple[int, ...], list[float]]:
    """Every way to read the rows: phones -> scores, stray sounds around them included."""
    found: dict[tuple[int, ...], list[float]] = {}
    count = len(rows)
    stray = [max(row[0], max(row[1:]) - NOISE_PRICE) for row in rows]
    for begin in range(count):
        for end in range(begin + 1, count + 1):
            around = sum(stray[:begin]) + sum(stray[end:])
            for labels in itertools.product([0, *USED], repeat=end - begin):
                if labels[0] == 0 or labels[-1] == 0:
                    continue
                score = around + sum(
                    rows[begin + place, label] for place, label in enumerate(labels)
                )
                found.setdefault(collapse(labels), []).append(score)
    return found


def spellings(text: str) -> list[tuple[int, ...]]:
    """The columns of each way to say a text."""
    return [
        tuple(COLUMN[phone] for phones in ways for phone in phones)
        for ways in itertools.product(*(pronunciations(word) for word in text.split()))
    ]


def posteriors(seed: int, count: int) -> np.ndarray:
    """Random rows that favour the phones in use."""
    chance = np.random.default_rng(seed).normal(0, 2, (count, len(PHONES) + 1))
    chance[:, [0, *USED]] += 3
    rows = chance - np.log(np.exp(chance).sum(axis=1, keepdims=True))
    return rows.astype(np.float32)


def graph_of(texts: tuple[str, ...]) -> WordGraph:
    graph = WordGraph()
    for text in texts:
        graph.ends.add(graph.add(text))
    return graph


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), count=st.integers(2, 5))
def test_tokens_find_the_texts_that_listing_all_alignments_finds(seed: int, count: int) -> None:
    """The best text, its score and the runner-up are exact."""
    rows = posteriors(seed, count)
    listed = alignments(rows)
    expected = sorted(
        (
            (max(max(listed[way]) for way in spellings(text) if way in listed), text)
            for text in TEXTS
            if any(way in listed for way in spellings(text))
        ),
        reverse=True,
    )

    passing = TokenPassing(compile_graph(graph_of(TEXTS)))
    passing.push(rows)
    actual = passing.n_best(2)

    assert [text for _, text in expected[:2]] == [path.text for path in actual]
    assert [score for score, _ in expected[:2]] == pytest.approx(
        [path.score for path in actual], abs=1e-3
    )


def test_a_rare_word_has_its_price() -> None:
    """A dear word costs what is written on it, in every place that scores are made."""
    rows = posteriors(11, 6)
    graph, dear = graph_of(("no no", "two")), WordGraph()
    for arc in graph.arcs:
        dear.join(arc.start, arc.word, arc.end, price=1.5 if arc.word == "no" else 0.0)
    dear.nodes, dear.ends = graph.nodes, graph.ends
    found = []
    for one in (graph, dear):
        passing = TokenPassing(compile_graph(one))
        passing.push(rows)
        found.append({path.text: path.score for path in passing.n_best(2)})

    assert found[0]["no no"] - 3.0 == pytest.approx(found[1]["no no"], abs=1e-4)
    assert found[0]["two"] == pytest.approx(found[1]["two"], abs=1e-4)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), count=st.integers(4, 5))
def test_the_forward_score_is_the_sum_over_all_alignments(seed: int, count: int) -> None:
    """Summing what was listed gives what forward_scores gives, for long and short texts at once."""
    rows = posteriors(seed, count)
    listed = alignments(rows)
    ways = [way for text in TEXTS for way in spellings(text) if way in listed]
    expected = [math.log(sum(math.exp(score) for score in listed[way])) for way in ways]

    actual = forward_scores(rows, ways)

    assert expected == pytest.approx(list(actual), abs=1e-3)


def test_rows_may_come_in_any_pieces() -> None:
    """One push of nine rows and nine pushes of one give the same path and times."""
    rows = posteriors(5, 9)
    at_once = TokenPassing(compile_graph(graph_of(TEXTS)))
    at_once.push(rows)
    one_by_one = TokenPassing(compile_graph(graph_of(TEXTS)))
    for row in rows:
        one_by_one.push(row[None])

    assert at_once.n_best(4) == one_by_one.n_best(4)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), count=st.integers(2, 7))
def test_machines_side_by_side_hear_what_one_machine_hears(seed: int, count: int) -> None:
    """A machine for each text, joined, gives the texts, scores and ends of one for them all."""
    rows = posteriors(seed, count)
    graphs = [graph_of((text,)) for text in TEXTS]
    joined = join([compile_graph(graph) for graph in graphs], [graph.nodes for graph in graphs])
    found = []
    for machine in (compile_graph(graph_of(TEXTS)), joined):
        passing = TokenPassing(machine)
        passing.push(rows)
        found.append(passing)
    expected, actual = (
        [(p.text, pytest.approx(p.score, abs=1e-3), p.words) for p in passing.n_best(2)]
        for passing in found
    )

    assert expected == actual
    assert found[0].best_end()[0] == pytest.approx(found[1].best_end()[0], abs=1e-3)
    last_nodes = [sum(g.nodes for g in graphs[:n]) + max(g.ends) for n, g in enumerate(graphs)]
    assert {p.node for p in found[1].n_best(9)} <= set(last_nodes)
