"""The search of one list on several processors, layer by layer.

Rule of this file: it judges nothing; it only shares out what states_search.py does. A layer
is all states that are the same number of moves away. Its states are shared out over
processes, which are forked anew for each layer, so that each has all that was reached
before without its being sent. What they find new is taken in by the state it was found
from and by the move, as one process would have met it, so that counts, depths and the state
that stands for each key are those of one process, however many there are.

No state is sent or kept, but how it came about: who goes on from it makes its moves again,
and neighbours in a layer have most of them in common. States are known by the hashes of
their keys (64 bits). Meetings that are looked at more closely are others than one process
takes: those with a state of an earlier layer.
"""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from multiprocessing import get_context
from typing import NamedTuple

from engine_checks import SILENT
from states_found import Bounds, Found, Node, key_of
from states_moves import Move, moves
from states_search import PROBED, Step, left_for, probe, taken, uncollected

from callout.checklist.model import Aircraft
from callout.engine.state import SessionState
from callout.words.phrases import NumberSlot, Phrase

FEW = 8
"""A layer of fewer states is not worth the forks."""


@dataclass(frozen=True, slots=True, eq=False)
class Came:
    """How a state came about: by a move from another, or the search began with it."""

    words: int
    before: Came | None = None
    move: Move | None = None
    node: Node | None = None

    def way(self) -> list[str]:
        """The moves that lead here."""
        before = self.before.way() if self.before is not None else []
        return [*before, self.move.words] if self.move is not None else before


Made = dict[Came, Node]
"""States that were made of late."""


def made(step: Step, came: Came, kept: Made) -> Node:
    """The state itself; kept, as are those on its way."""
    if came.node is not None:
        return came.node
    node = kept.get(came)
    if node is None:
        assert came.before is not None
        assert came.move is not None
        node = kept[came] = step.take(made(step, came.before, kept), came.move)
    return node


class New(NamedTuple):
    """A state that was not known before its layer.

    Fields:
        before: place in the layer of the state that it came from
        name, words: hashes of its key, and of what it hears
        move: what led to it
        goes_on, cut: it is gone on from; there are too many departures in it
        mode, left: the engine's state; the list that it left for ("" for none)
    """

    before: int
    name: int
    words: int
    move: Move
    goes_on: bool
    cut: bool
    mode: str
    left: str


@dataclass
class Part:
    """What was found from some states of a layer."""

    gone_on: int = 0
    moves: int = 0
    probed: int = 0
    unlike: int = 0
    reordered: int = 0
    broken: list[str] = field(default_factory=list)
    new: list[New] = field(default_factory=list)


@dataclass
class Layers(Found):
    """What all of them found.

    Fields:
        waiting: states that were reached and would be gone on from, when it was stopped
        widths: how many states were gone on from, layer by layer
    """

    waiting: int = 0
    widths: list[int] = field(default_factory=list)


@dataclass
class Search:
    """One search: what every process of a layer sees."""

    plane: Aircraft
    found: Layers
    bounds: Bounds
    seen: dict[int, Came]
    layer: list[Came]

    def part(self, begin: int, end: int) -> Part:
        """Go on from these states of the layer."""
        part, step, own, kept = Part(), Step(self.plane), dict[int, int](), Made()
        for at in range(begin, end):
            if self.bounds.enough() or part.broken:
                break
            part.gone_on += 1
            node, chance = made(step, self.layer[at], kept), random.Random(at)
            for move in moves(self.plane, node.state):
                part.moves += 1
                after = taken(step, node, move, part.broken)
                if after is None:
                    continue
                one = self._seen_as(at, move, after)
                known = self.seen.get(one.name)
                if known is None and one.name not in own:
                    own[one.name] = one.words
                    part.new.append(one)
                elif one.words != (own[one.name] if known is None else known.words):
                    part.broken.append(_two_grammars(after.way()))
                elif known is None or after.state.mode in SILENT:
                    continue
                elif chance.randrange(PROBED) == 0:
                    probe(self.plane, step, made(step, known, Made()), after, part)
        return part

    def _seen_as(self, before: int, move: Move, after: Node) -> New:
        left = left_for(after, self.found.list_id)
        cut = left is None and self.bounds.beyond(after)
        return New(
            before, hash(key_of(self.plane, after)), _words(after.state), move,
            left is None and not cut, cut, after.state.mode.value, left or "",
        )  # fmt: skip

    def take_in(self, part: Part, onward: list[Came]) -> None:
        """What was found from the next states of the layer; the first of a key stands for it."""
        found = self.found
        found.moves += part.moves
        found.probed += part.probed
        found.unlike += part.unlike
        found.reordered += part.reordered
        found.broken += part.broken
        for one in part.new:
            known = self.seen.get(one.name)
            came = Came(one.words, self.layer[one.before], one.move)
            if known is None:
                self.seen[one.name] = came
                self._count(one, came)
                onward += [came] if one.goes_on else []
            elif known.words != one.words:
                found.broken.append(_two_grammars(came.way()))

    def _count(self, one: New, came: Came) -> None:
        found = self.found
        found.met.add(one.mode)
        found.cut += one.cut
        if one.left and one.left not in found.left:
            found.left[one.left] = made(Step(self.plane), came, Made())


def search_shared(
    plane: Aircraft, list_id: str, begin: Node, most: int, jobs: int, until: float
) -> Layers:
    """Search one list; `until` is a time of time.monotonic (s)."""
    bounds = Bounds(begin, most, enough=lambda: time.monotonic() > until)
    first = Came(_words(begin.state), node=begin)
    seen = {hash(key_of(plane, begin)): first}
    search = Search(plane, Layers(list_id), bounds, seen, [first])
    with uncollected():
        while search.layer and search.found.all_of_it and not search.found.broken:
            _layer(search, jobs)
    search.found.states = len(search.seen)
    return search.found


def _layer(search: Search, jobs: int) -> None:
    found, onward, gone_on = search.found, list[Came](), 0
    for part in _parts(search, jobs):
        search.take_in(part, onward)
        gone_on += part.gone_on
    found.widths.append(gone_on)
    found.all_of_it = gone_on == len(search.layer)
    found.waiting = 0 if found.all_of_it else len(search.layer) - gone_on + len(onward)
    found.depth += bool(onward)
    search.layer = onward


_SHARED: list[Search] = []
"""The search that forked processes work for."""


def _parts(search: Search, jobs: int) -> Iterator[Part]:
    """What was found, in the order of the layer."""
    size = len(search.layer)
    if jobs < 2 or size < FEW:
        yield search.part(0, size)
        return
    _SHARED[:] = [search]
    share = max(1, min(100, size // (8 * jobs)))
    places = [(at, min(at + share, size)) for at in range(0, size, share)]
    with get_context("fork").Pool(min(jobs, len(places))) as pool:
        yield from pool.imap(_work, places)
        pool.close()
        pool.join()


def _work(place: tuple[int, int]) -> Part:
    return _SHARED[0].part(*place)


def _two_grammars(way: list[str]) -> str:
    return f"one key, two grammars: {' / '.join(way)}"


_HEARD: dict[int, tuple[object, int]] = {}
"""Hashes of what is heard, by the identity of the phrases, which are kept here."""


def _words(state: SessionState) -> int:
    """A hash of what is heard; 0 where nothing is."""
    if state.mode in SILENT:
        return 0
    phrases: tuple[Phrase, ...] = state.grammar.phrases
    numbers: tuple[NumberSlot, ...] = state.grammar.numbers
    kept = _HEARD.get(id(phrases))
    if kept is None:
        kept = _HEARD[id(phrases)] = (phrases, hash(phrases))
    return hash((kept[1], numbers))
