"""The grammar that counts now, compiled once and kept.

Rule of this file: what a text means is asked of callout.words and nobody else.
Two grammars that differ only in serial, meanings or thresholds share a machine.
"""

from __future__ import annotations

from functools import lru_cache

from callout.ear.built_in.machine import Machine, compile_graph
from callout.ear.built_in.number_graph import add_number
from callout.ear.built_in.pronunciations import prepare
from callout.ear.built_in.word_graph import After, WordGraph
from callout.words.number_words import DIGITS
from callout.words.phrases import Grammar, NumberSlot
from callout.words.understand import Match, understand

KEPT = 64
"""So many machines are kept: a list's items come again and again."""


class GrammarMachine:
    """A grammar ready to listen with.

    Fields:
        grammar: what counts
        machine: its finite-state machine
    """

    def __init__(self, grammar: Grammar) -> None:
        self.grammar = grammar
        texts = tuple(sorted(phrase.text for phrase in grammar.phrases))
        self.machine, self._after = _compiled(texts, grammar.numbers)
        self._matches: dict[str, Match | None] = {}

    def match(self, text: str) -> Match | None:
        """What a text means in this grammar."""
        if text not in self._matches:
            self._matches[text] = understand(self.grammar, text)
        return self._matches[text]

    def meaning(self, text: str) -> object:
        """What makes two texts the same answer; None if the text is none."""
        match = self.match(text)
        return match and (match.means, match.numbers and match.numbers.heard)

    def is_lone_digit(self, text: str) -> bool:
        """Whether a text is one digit, where a gauge counts that shows more than one."""
        longer = any(abs(slot.highest) >= 10 or slot.decimals for slot in self.grammar.numbers)
        match = self.match(text) if longer else None
        return text in DIGITS and match is not None and match.numbers is not None

    def after(self, node: int) -> After:
        """What may follow when a text ends at this node of the word graph."""
        return self._after[node]


@lru_cache(maxsize=KEPT)
def _compiled(
    texts: tuple[str, ...], numbers: tuple[NumberSlot, ...]
) -> tuple[Machine, dict[int, After]]:
    graph = WordGraph()
    for text in texts:
        graph.ends.add(graph.add(text))
    for slot in numbers:
        add_number(graph, slot)
    prepare(arc.word for arc in graph.arcs)
    return compile_graph(graph), graph.leads_on()


def forget() -> None:
    """Drop the machines that are kept."""
    _compiled.cache_clear()
