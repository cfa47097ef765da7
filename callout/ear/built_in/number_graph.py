"""A number slot as a part of the word graph: every way that read_numbers reads.

Rule of this file: it makes texts, it does not judge them. What it makes is a
little more than what counts (a gauge that ends at 100 still hears "two five
zero", so that it can be refused); callout.words.understand has the last word.
"""

from __future__ import annotations

from collections.abc import Iterable

from callout.ear.built_in.word_graph import ROOT, WordGraph
from callout.words.number_words import (
    AND,
    HUNDRED,
    PLAIN_DIGITS,
    SIGNS,
    TEENS,
    TENS,
    THOUSAND,
    A,
)
from callout.words.phrases import NumberSlot

NONZERO = PLAIN_DIGITS[1:]
ZEROS = (PLAIN_DIGITS[0], "oh")
ANY_DIGIT = (*PLAIN_DIGITS, "oh")
HEARD_POINTS = ("point", "decimal")
MOST_DIGITS = 6
"""No gauge shows more before the point."""


def add_number(graph: WordGraph, slot: NumberSlot) -> None:
    """Add the slot's words before, its numbers and its units to the graph."""
    start = graph.add(slot.before) if slot.before else ROOT
    numbers = _Numbers(graph, slot)
    numbers.add_from(start)
    if slot.lowest < 0:
        for sign in SIGNS:
            numbers.add_from(graph.step(start, sign))
    for end in numbers.ends:
        graph.ends.add(end)
        for unit in slot.units:
            graph.ends.add(graph.add(unit, end))


class _Numbers:
    """The nodes at which a number of one slot is complete, as they are made."""

    def __init__(self, graph: WordGraph, slot: NumberSlot) -> None:
        largest = int(max(abs(slot.lowest), abs(slot.highest)))
        self.graph = graph
        self.digits = min(len(str(largest)), MOST_DIGITS)
        self.decimals = slot.decimals
        self.ends: list[int] = []

    def add_from(self, start: int) -> None:
        """Add every number from `start` on."""
        first, zero = self._end(), self._end()
        self._join([start], NONZERO, first)
        self._join([start], ZEROS, zero)
        wholes = [first, zero, *self._more_digits([first, zero])]
        if self.digits >= 2:
            wholes += self._below_hundred([start], units=False)
        two_digits = wholes[-2:] if self.digits >= 2 else []
        if self.digits >= 3:
            wholes += self._groups([first], two_digits)
            wholes += self._hundreds(start, first, two_digits)
        if self.digits >= 4:
            wholes += self._thousands(start, first, [*two_digits, *wholes[2:4]])
        if self.decimals:
            self._fraction([start, *wholes])

    def _end(self) -> int:
        node = self.graph.new_node()
        self.ends.append(node)
        return node

    def _join(self, starts: Iterable[int], words: Iterable[str], end: int) -> int:
        words = tuple(words)
        for start in starts:
            for word in words:
                self.graph.join(start, word, end)
        return end

    def _more_digits(self, before: list[int]) -> list[int]:
        """Single digits up to the length of the range, and with the point left out."""
        nodes: list[int] = []
        for _ in range(self.digits + self.decimals - 1):
            before = [self._join(before, ANY_DIGIT, self._end())]
            nodes += before
        return nodes

    def _below_hundred(self, starts: list[int], *, units: bool) -> list[int]:
        """Ten to ninety nine, with `units` also one to nine: [after tens, complete]."""
        tens, complete = self._end(), self._end()
        self._join(starts, TENS, tens)
        self._join(starts, TEENS, complete)
        self._join([tens], NONZERO, complete)
        if units:
            self._join(starts, NONZERO, complete)
        return [tens, complete]

    def _groups(self, first: list[int], two_digits: list[int]) -> list[int]:
        """Add "two fifty"; "twenty nine ninety two", "nineteen oh five" where they fit."""
        if self.digits == 3:
            return self._below_hundred(first, units=False)
        nodes = self._pairs([*first, *two_digits])
        return nodes + (self._pairs(nodes) if self.digits >= 5 else [])

    def _pairs(self, starts: list[int]) -> list[int]:
        """Ten to ninety nine, "oh five", "zero zero"."""
        nodes = self._below_hundred(starts, units=False)
        zero = self._join(starts, ZEROS, self.graph.new_node())
        return [*nodes, self._join([zero], ANY_DIGIT, self._end())]

    def _hundreds(self, start: int, first: int, two_digits: list[int]) -> list[int]:
        """Add "two hundred [and] fifty", "a hundred", and "fifteen hundred" where it fits."""
        a = self._join([start], [A], self.graph.new_node())
        counts = [first, a] if self.digits == 3 else [first, a, two_digits[1]]
        hundred = self._join(counts, [HUNDRED], self._end())
        return [hundred, *self._rest(hundred)]

    def _rest(self, after: int) -> list[int]:
        """Nothing, or [and] one to ninety nine."""
        joined = self._join([after], [AND], self.graph.new_node())
        return self._below_hundred([after, joined], units=True)

    def _thousands(self, start: int, first: int, counts: list[int]) -> list[int]:
        """Add "four thousand five hundred", "one two thousand", "twelve thousand"."""
        a = self._join([start], [A], self.graph.new_node())
        before = [first, a] if self.digits == 4 else [first, a, *counts]
        thousand = self._join(before, [THOUSAND], self._end())
        count = self._join([thousand], NONZERO, self.graph.new_node())
        hundred = self._join([count], [HUNDRED], self._end())
        return [thousand, hundred, *self._rest(thousand), *self._rest(hundred)]

    def _fraction(self, wholes: list[int]) -> None:
        """The point, then single digits, or a pair where two are read."""
        point = self._join(wholes, HEARD_POINTS, self.graph.new_node())
        before = [point]
        for _ in range(self.decimals):
            before = [self._join(before, ANY_DIGIT, self._end())]
        if self.decimals >= 2:
            self._below_hundred([point], units=False)
