"""A grammar as a graph of words: which word may follow which, and where one may stop.

Rule of this file: words and nodes only, no phones and no scores. The graph has
no circles: a number has at most as many digits as its range can show.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from enum import Enum

ROOT = 0
"""Every path begins here."""


class After(Enum):
    """What may follow at a node."""

    NOTHING = "nothing"
    UNIT = "only a unit, which changes nothing"
    MORE = "more words"


@dataclass(frozen=True, slots=True)
class WordArc:
    """From node `start`, saying `word` leads to node `end`.

    `price`: how much rarer the word is there than others (natural logarithm, 0 or more).
    """

    start: int
    end: int
    word: str
    price: float = 0.0


@dataclass(slots=True)
class WordGraph:
    """Words between nodes.

    Fields:
        arcs: in the order they were added
        ends: the nodes where a text is complete
        skips: node -> nodes whose words may follow it, too, as if they were its own;
            a node that skips is not skipped to
        units: the nodes from which only units lead on
        nodes: how many there are
    """

    arcs: list[WordArc] = field(default_factory=list)
    ends: set[int] = field(default_factory=set)
    skips: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    units: set[int] = field(default_factory=set)
    nodes: int = 1
    _next: dict[tuple[int, str], int] = field(default_factory=dict)

    def add(self, text: str, start: int = ROOT) -> int:
        """Add a text from `start` on, sharing words already there; return its last node."""
        node = start
        for word in text.split():
            node = self.step(node, word)
        return node

    def step(self, node: int, word: str) -> int:
        """Return the node after `word`, made if new."""
        if (node, word) not in self._next:
            self._next[node, word] = self.new_node()
            self.join(node, word, self._next[node, word])
        return self._next[node, word]

    def join(self, start: int, word: str, end: int, price: float = 0.0) -> None:
        """Add one arc between two nodes that exist."""
        self.arcs.append(WordArc(start, end, word, price))

    def new_node(self) -> int:
        """Make a node that nothing leads to yet."""
        self.nodes += 1
        return self.nodes - 1

    def leads_on(self) -> dict[int, After]:
        """What may follow at each node that a text can end at."""
        leaving = {arc.start for arc in self.arcs}
        found: dict[int, After] = {}
        for node in self.ends:
            onward = [to for to in (node, *self.skips.get(node, ())) if to in leaving]
            if not onward:
                found[node] = After.NOTHING
            else:
                only_units = all(to in self.units for to in onward)
                found[node] = After.UNIT if only_units else After.MORE
        return found
