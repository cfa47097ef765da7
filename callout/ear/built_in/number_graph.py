"""A number slot as a part of the word graph: every way that read_numbers reads.

Rule of this file: it makes texts, it does not judge them. What it makes is a
little more than what counts (a gauge that ends at 100 still hears "two five
zero", so that it can be refused); callout.words.understand has the last word.

Words that may follow in several places (a pair of digits, one to nine, the
units) stand in the graph once and are skipped to, which keeps it small.
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
PRICES = {"oh": 3.0, **dict.fromkeys((*TEENS, *TENS, HUNDRED, THOUSAND), 2.0)}
"""Natural logarithms: how much rarer a word is in a number than a plain digit. The radio
reads digit by digit (ICAO Annex 10 II 5.2.1.4.1.1); other forms are heard, but not for nothing.
"""
MOST_DIGITS = 6
"""No gauge shows more before the point."""


def add_number(graph: WordGraph, slot: NumberSlot) -> None:
    """Add the slot's words before, its numbers and its units to the graph."""
    entry = graph.new_node()
    start = graph.add(slot.before) if slot.before else ROOT
    graph.skips[start].append(entry)
    if slot.lowest < 0:
        for sign in SIGNS:
            graph.skips[graph.step(start, sign)].append(entry)
    ends = _Numbers(graph, slot).add_from(entry)
    units = graph.new_node()
    for unit in slot.units:
        graph.ends.add(graph.add(unit, units))
    graph.units.add(units)
    graph.ends.update(ends)
    for end in ends if slot.units else ():
        graph.skips[end].append(units)


class _Numbers:
    """The nodes of one slot's numbers, as they are made."""

    def __init__(self, graph: WordGraph, slot: NumberSlot) -> None:
        largest = int(max(abs(slot.lowest), abs(slot.highest)))
        self.graph = graph
        self.digits = min(len(str(largest)), MOST_DIGITS)
        self.decimals = slot.decimals
        self.ends: list[int] = []
        self.wholes: list[int] = []

    def add_from(self, start: int) -> list[int]:
        """Add every number from `start` on; return the nodes where one is complete."""
        first, zero = self._whole(), self._whole()
        self._join([start], NONZERO, first)
        self._join([start], ZEROS, zero)
        chain = self._more_digits([first, zero])
        two_digits = self._below_hundred(start) if self.digits >= 2 else []
        if self.digits >= 3:
            self._greater(start, first, two_digits, chain)
        if self.decimals:
            self._fraction([start, *self.wholes])
        return self.ends + self.wholes

    def _greater(self, start: int, first: int, two_digits: list[int], chain: list[int]) -> None:
        """Groups, hundreds and thousands."""
        pair = self._pair()
        unit = self.graph.new_node()
        self._join([unit], NONZERO, self._whole())
        self._groups(first, two_digits, pair)
        a = self._join([start], [A], self.graph.new_node())
        rest = [pair, unit]
        self._hundreds([first, a, *two_digits[1:]] if self.digits >= 4 else [first, a], rest)
        if self.digits >= 4:
            counts = [first, a] if self.digits == 4 else [first, a, *two_digits, *chain[:2]]
            self._thousands(counts, rest)

    def _whole(self) -> int:
        node = self.graph.new_node()
        self.wholes.append(node)
        return node

    def _join(self, starts: Iterable[int], words: Iterable[str], end: int) -> int:
        words = tuple(words)
        for start in starts:
            for word in words:
                self.graph.join(start, word, end, PRICES.get(word, 0.0))
        return end

    def _skip(self, starts: Iterable[int], ends: Iterable[int]) -> None:
        ends = tuple(ends)
        for start in starts:
            self.graph.skips[start] += ends

    def _more_digits(self, before: list[int]) -> list[int]:
        """Single digits up to the length of the range, and with the point left out."""
        nodes: list[int] = []
        for _ in range(self.digits + self.decimals - 1):
            onward = self.graph.new_node()
            self._skip(before, [onward])
            before = [self._join([onward], ANY_DIGIT, self._whole())]
            nodes += before
        return nodes

    def _below_hundred(self, start: int) -> list[int]:
        """Ten to ninety nine: [after tens, complete]."""
        tens, complete = self._whole(), self._whole()
        self._join([start], TENS, tens)
        self._join([start], TEENS, complete)
        self._join([tens], NONZERO, complete)
        return [tens, complete]

    def _pair(self) -> int:
        """Two digits said as one number, with nothing but a point after them."""
        pair = self.graph.new_node()
        self._below_hundred(pair)
        return pair

    def _groups(self, first: int, two_digits: list[int], pair: int) -> None:
        """Add "two fifty"; "twenty nine ninety two", "nineteen oh five" where they fit."""
        if self.digits == 3:
            self._skip([first], [pair])
            return
        onward = [first, *two_digits]
        for _ in range(self.digits // 2 - 1 + self.digits % 2):
            group = self.graph.new_node()
            self._skip(onward, [group])
            onward = self._below_hundred(group)
            zero = self._join([group], ZEROS, self.graph.new_node())
            onward.append(self._join([zero], ANY_DIGIT, self._whole()))

    def _hundreds(self, counts: list[int], rest: list[int]) -> None:
        """Add "two hundred [and] fifty", "a hundred", and "fifteen hundred" where it fits."""
        hundred = self._join(counts, [HUNDRED], self._whole())
        self._rest(hundred, rest)

    def _rest(self, after: int, rest: list[int]) -> None:
        """Nothing, or [and] one to ninety nine."""
        joined = self._join([after], [AND], self.graph.new_node())
        self._skip([after, joined], rest)

    def _thousands(self, counts: list[int], rest: list[int]) -> None:
        """Add "four thousand five hundred", "one two thousand", "twelve thousand"."""
        thousand = self._join(counts, [THOUSAND], self._whole())
        self._rest(thousand, rest)
        count = self.graph.new_node()
        self._join([thousand], NONZERO, count)
        self._hundreds([count], rest)

    def _fraction(self, wholes: list[int]) -> None:
        """The point, then single digits, or a pair where two are read."""
        onward = self.graph.new_node()
        self._skip(wholes, [onward])
        point = self._join([onward], HEARD_POINTS, self.graph.new_node())
        for place in range(self.decimals):
            end = self.graph.new_node()
            self.ends.append(self._join([point], ANY_DIGIT, end))
            if place == 0 and self.decimals >= 2:
                tens, complete = self.graph.new_node(), self.graph.new_node()
                self._join([point], TENS, tens)
                self._join([point], TEENS, complete)
                self._join([tens], NONZERO, complete)
                self.ends += [tens, complete]
            point = end
