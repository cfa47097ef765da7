"""The search of one list on several processors, layer by layer.

Rule of this file: it judges nothing; it only shares out what states_search.py does. A layer
is all states that are the same number of moves away. Its states are shared out over
processes, which are forked anew for each layer, so that each has all that was reached
before without its being sent. What they find new is put in order by the state it was found
from and by the move, as one process would have met it, so that counts, depths and the state
that stands for each key are those of one process, however many there are.

No state is sent: a process tells the move, and who goes on from it makes the move again.
States are known by the hashes of their keys (64 bits). The states that are looked at more
closely are others than one process takes: where one meets a state of an earlier layer.
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


class Came(NamedTuple):
    """A state by how it is made: a move from a state that is kept; or that state itself."""

    words: int
    node: Node
    move: Move | None = None


class New(NamedTuple):
    """A state that was not known before its layer.

    Fields:
        place: of the state in its layer, and of the move among its moves
        name, words: hashes of its key, and of what it hears
        move: what led to it
        goes_on, cut: it is gone on from; there are too many departures in it
        mode, left: the engine's state; the list that it left for ("" for none)
    """

    place: tuple[int, int]
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
    layer: list[Node]

    def part(self, begin: int, end: int) -> Part:
        """Go on from these states of the layer."""
        part, step, own = Part(), Step(self.plane), dict[int, int]()
        for at in range(begin, end):
            if self.bounds.enough() or part.broken:
                break
            part.gone_on += 1
            chance = random.Random(at)
            for number, move in enumerate(moves(self.plane, self.layer[at].state)):
                part.moves += 1
                self._one(part, step, own, (at, number), move, chance)
        return part

    def _one(
        self, part: Part, step: Step, own: dict[int, int], place: tuple[int, int], move: Move,
        chance: random.Random,
    ) -> None:  # fmt: skip
        after = taken(step, self.layer[place[0]], move, part.broken)
        if after is None:
            return
        name, words = hash(key_of(self.plane, after)), _words(after.state)
        known = self.seen.get(name)
        if (known.words if known is not None else own.get(name, words)) != words:
            part.broken.append(f"one key, two grammars: {' / '.join(after.way())}")
        if known is not None and after.state.mode not in SILENT and not chance.randrange(PROBED):
            probe(self.plane, step, self.made(step, known), after, part)
        if known is not None or name in own:
            return
        own[name] = words
        left = left_for(after, self.found.list_id)
        stays = left is None
        cut = stays and self.bounds.beyond(after)
        mode = after.state.mode.value
        part.new.append(New(place, name, words, move, stays and not cut, cut, mode, left or ""))

    def made(self, step: Step, came: Came) -> Node:
        """The state itself."""
        return came.node if came.move is None else step.take(came.node, came.move)

    def take_in(self, part: Part) -> None:
        """Count what was found from the next states of the layer."""
        found = self.found
        found.moves += part.moves
        found.probed += part.probed
        found.unlike += part.unlike
        found.reordered += part.reordered
        found.broken += part.broken

    def next_layer(self, new: list[New]) -> list[Node]:
        """The states to go on from after this layer; the first of each key stands for it."""
        step, onward = Step(self.plane), list[Node]()
        for one in sorted(new, key=lambda one: one.place):
            parent, known = self.layer[one.place[0]], self.seen.get(one.name)
            if known is not None:
                if known.words != one.words:
                    way = [*parent.way(), one.move.words]
                    self.found.broken.append(f"one key, two grammars: {' / '.join(way)}")
                continue
            self.seen[one.name] = came = Came(one.words, parent, one.move)
            self.found.met.add(one.mode)
            self.found.cut += one.cut
            if one.left and one.left not in self.found.left:
                self.found.left[one.left] = self.made(step, came)
            if one.goes_on:
                onward.append(self.made(step, came))
                self.seen[one.name] = Came(one.words, onward[-1])
        return onward


def search_shared(
    plane: Aircraft, list_id: str, begin: Node, most: int, jobs: int, until: float
) -> Layers:
    """Search one list; `until` is a time of time.monotonic (s)."""
    bounds = Bounds(begin, most, enough=lambda: time.monotonic() > until)
    first = {hash(key_of(plane, begin)): Came(_words(begin.state), begin)}
    search = Search(plane, Layers(list_id), bounds, first, [begin])
    with uncollected():
        while search.layer and search.found.all_of_it and not search.found.broken:
            _layer(search, jobs)
    search.found.states = len(search.seen)
    return search.found


def _layer(search: Search, jobs: int) -> None:
    found, new, gone_on = search.found, list[New](), 0
    for part in _parts(search, jobs):
        search.take_in(part)
        new += part.new
        gone_on += part.gone_on
    found.widths.append(gone_on)
    found.all_of_it = gone_on == len(search.layer)
    left = len(search.layer) - gone_on
    search.layer = search.next_layer(new)
    found.waiting = 0 if found.all_of_it else left + len(search.layer)
    found.depth += bool(search.layer)


_SHARED: list[Search] = []
"""The search that forked processes work for."""


def _parts(search: Search, jobs: int) -> Iterator[Part]:
    size = len(search.layer)
    if jobs < 2 or size < FEW:
        yield search.part(0, size)
        return
    _SHARED[:] = [search]
    share = max(1, min(100, size // (8 * jobs)))
    places = [(at, min(at + share, size)) for at in range(0, size, share)]
    with get_context("fork").Pool(min(jobs, len(places))) as pool:
        yield from pool.imap(_work, places)


def _work(place: tuple[int, int]) -> Part:
    return _SHARED[0].part(*place)


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
