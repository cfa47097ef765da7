"""A grammar as a graph of words: which word may follow which, and where one may stop.

Rule of this file: words and nodes only, no phones and no scores. The graph has
no circles: a number has at most as many digits as its range can show, so each
path is one text and each text is one path.
"""

from __future__ import annotations

from dataclasses import dataclass, field

ROOT = 0
"""Every path begins here."""


@dataclass(frozen=True, slots=True)
class WordArc:
    """From node `start`, saying `word` leads to node `end`."""

    start: int
    end: int
    word: str


@dataclass(slots=True)
class WordGraph:
    """Arcs in the order they were added; `ends` are the nodes where a text is complete."""

    arcs: list[WordArc] = field(default_factory=list)
    ends: set[int] = field(default_factory=set)
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
            self.join(node, word, self.new_node())
        return self._next[node, word]

    def join(self, start: int, word: str, end: int) -> None:
        """Add one arc between two nodes that exist."""
        self._next[start, word] = end
        self.arcs.append(WordArc(start, end, word))

    def new_node(self) -> int:
        """Make a node that nothing leads to yet."""
        self.nodes += 1
        return self.nodes - 1

    def leaving(self) -> set[int]:
        """Return the nodes that some arc leaves."""
        return {arc.start for arc in self.arcs}
