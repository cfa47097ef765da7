"""The grammar that counts now: its parts compiled once and kept, and joined when it comes.

Rule of this file: what a text means is asked of callout.words and nobody else.
Two grammars that differ only in serial, meanings or thresholds share a machine.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from callout.ear.built_in.decoys import decoys
from callout.ear.built_in.joined import join
from callout.ear.built_in.machine import Machine, compile_graph
from callout.ear.built_in.number_graph import add_number
from callout.ear.built_in.pronunciations import prepare
from callout.ear.built_in.word_graph import After, WordGraph
from callout.words.number_words import DIGITS
from callout.words.phrases import Grammar, NumberSlot
from callout.words.resolve import Outcome
from callout.words.understand import Match, plain, understand

KEPT = 64
"""So many grammars, and so many numbers, are kept: a list's items come again and again."""
IMPOSSIBLE, DOUBTFUL = 6.0, 3.0
"""How much rarer a value is meant that the gauge cannot show, and one that must be confirmed
(natural logarithms). Only what is possible weighs, never what is within limits: a bad value
must be heard as it was said.
"""
PRICES = {Outcome.ONE: 0.0, Outcome.CONFIRM: DOUBTFUL, Outcome.NONE: IMPOSSIBLE}
LONE_DIGIT_DOUBT = 2.5
"""Certainty (log odds) taken off one digit by itself where the gauge shows more: seldom meant."""
PHRASES_KEPT = 4096
"""So many phrases are kept: more than an aircraft has."""


class GrammarMachine:
    """A grammar ready to listen with.

    Fields:
        grammar: what counts
        machine: its finite-state machine
    """

    def __init__(self, grammar: Grammar) -> None:
        self.grammar = grammar
        self._decoys = _decoys(grammar)
        texts = tuple(sorted({*(phrase.text for phrase in grammar.phrases), *self._decoys}))
        self.machine, self._after = _compiled(texts, grammar.numbers)
        self._likely = {plain(phrase.text): phrase.likely for phrase in grammar.phrases}
        self._alone = {plain(phrase.text) for phrase in grammar.phrases if phrase.alone}
        self._matches: dict[str, Match | None] = {}

    def match(self, text: str) -> Match | None:
        """What a text means in this grammar."""
        if text not in self._matches:
            self._matches[text] = understand(self.grammar, text)
        return self._matches[text]

    def meaning(self, text: str) -> object:
        """What makes two texts the same answer; None if the text is neither one nor a decoy."""
        match = self.match(text)
        if match is None:
            return text if text in self._decoys else None
        return match.means, match.numbers and match.numbers.heard

    def likely(self, text: str) -> float:
        """How much likelier a text is meant here than others (natural logarithm)."""
        match = self.match(text)
        if match is not None and match.numbers is not None:
            return -PRICES[match.numbers.outcome]
        return self._likely.get(plain(text), 0.0)

    def trusted(self, text: str) -> float:
        """How much surer (log odds) one is of a text than the sound alone makes one.

        A value that the gauge cannot show is heard as surely as any: it must be refused aloud.
        """
        match = self.match(text)
        if match is not None and match.numbers is not None:
            return -LONE_DIGIT_DOUBT if self._is_lone_digit(text) else 0.0
        return self._likely.get(plain(text), 0.0)

    def alone(self, text: str) -> bool:
        """Whether a text counts only when nothing else was said before or after it."""
        match = self.match(text)
        if match is not None and match.numbers is not None:
            return any(slot.alone and slot.means == match.means for slot in self.grammar.numbers)
        return plain(text) in self._alone

    def _is_lone_digit(self, text: str) -> bool:
        """Whether a text is one digit, where a gauge counts that shows more than one."""
        longer = any(abs(slot.highest) >= 10 or slot.decimals for slot in self.grammar.numbers)
        match = self.match(text) if longer else None
        return text in DIGITS and match is not None and match.numbers is not None

    def after(self, node: int) -> After:
        """What may follow when a text ends at this node of the word graph."""
        return self._after[node]


def _decoys(grammar: Grammar) -> frozenset[str]:
    """Opposites of the answers that count only by themselves; what counts itself is no decoy.

    They are as likely as any other words, so less so than the answers.
    """
    answers = {plain(phrase.text) for phrase in grammar.phrases if phrase.alone and phrase.likely}
    found = {text for answer in answers for text in decoys(answer)}
    return frozenset(text for text in found if understand(grammar, text) is None)


@dataclass(frozen=True, slots=True)
class _Part:
    """One phrase or one number slot, compiled.

    Fields:
        after: what may follow at the nodes where it can end, all else left aside
        nodes: how many its word graph has
        last: node at which a phrase ends
    """

    machine: Machine
    after: dict[int, After]
    nodes: int
    last: int = 0


@lru_cache(maxsize=PHRASES_KEPT)
def _phrase(text: str) -> _Part:
    graph = WordGraph()
    last = graph.add(text)
    graph.ends.add(last)
    return _Part(compile_graph(graph), graph.leads_on(), graph.nodes, last)


@lru_cache(maxsize=KEPT)
def _number(slot: NumberSlot) -> _Part:
    graph = WordGraph()
    add_number(graph, slot)
    prepare(arc.word for arc in graph.arcs)
    return _Part(compile_graph(graph), graph.leads_on(), graph.nodes)


def _bare(slot: NumberSlot) -> NumberSlot:
    """What makes the machine of a slot, and nothing else."""
    return replace(slot, means="", certainty=0.0, alone=False)


@lru_cache(maxsize=KEPT)
def _compiled(
    texts: tuple[str, ...], numbers: tuple[NumberSlot, ...]
) -> tuple[Machine, dict[int, After]]:
    prepare(word for text in texts for word in text.split())
    parts = [*(_phrase(text) for text in texts), *(_number(_bare(slot)) for slot in numbers)]
    if not parts:
        return compile_graph(WordGraph()), {}
    goes_on = _beginnings(texts, numbers)
    after: dict[int, After] = {}
    first = 0
    for place, part in enumerate(parts):
        after |= {first + node: what for node, what in part.after.items()}
        if place < len(texts) and texts[place] in goes_on:
            after[first + part.last] = After.MORE
        first += part.nodes
    return join([part.machine for part in parts], [part.nodes for part in parts]), after


def _beginnings(texts: Sequence[str], numbers: Sequence[NumberSlot]) -> set[str]:
    """Every text with which a longer one begins."""
    found = {slot.before for slot in numbers}
    for text in (*texts, *found):
        words = text.split()
        found |= {" ".join(words[:count]) for count in range(1, len(words))}
    return found


def get_ready(grammars: Iterable[Grammar]) -> None:
    """Compile what these grammars are made of, so that none of them is waited for later."""
    kept = list(grammars)
    texts = {phrase.text for grammar in kept for phrase in grammar.phrases}
    texts |= {text for grammar in kept for text in _decoys(grammar)}
    prepare(word for text in texts for word in text.split())
    for text in texts:
        _phrase(text)
    for slot in {_bare(slot) for grammar in kept for slot in grammar.numbers}:
        _number(slot)


def kept_parts() -> tuple[int, int]:
    """How many phrases and how many numbers are compiled and kept."""
    return _phrase.cache_info().currsize, _number.cache_info().currsize


def forget() -> None:
    """Drop the machines that are kept."""
    for kept in (_compiled, _phrase, _number):
        kept.cache_clear()
