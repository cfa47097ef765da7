"""The search of one list on several processors.

Rule of this file: it judges nothing; it only shares out what states_search.py does. First
the straight way is searched, by one process. Each state at its edge, with one departure,
is where a part begins, and parts are taken one after another by whoever is free. Each
process has its own record of what was seen, the straight way's in it, so two may go
through the same states; these are counted once, by their keys. What is lost is the
shortest way: a depth is that of the way on which a part came by.

Processes are forked, so that each has the straight way's states without their being sent.
"""

from __future__ import annotations

import os
import tempfile
import time
from array import array
from collections import deque
from collections.abc import Hashable, Iterator
from dataclasses import dataclass, field
from functools import partial
from multiprocessing import get_context
from multiprocessing.sharedctypes import Synchronized
from pathlib import Path

from states_found import Bounds, Found, Node, key_of
from states_search import go_on, uncollected

from callout.checklist.model import Aircraft


@dataclass
class Shared(Found):
    """What a process, or all of them together, found in its parts.

    Fields:
        parts: how many were to be searched; done: how many were, to their end
        names: the keys of states that are not on the straight way, as numbers
        beyond: those of them that were not gone on from
    """

    parts: int = 0
    done: int = 0
    names: set[int] = field(default_factory=set)
    beyond: set[int] = field(default_factory=set)

    def add(self, other: Shared) -> None:
        """What another process found."""
        self.moves += other.moves
        self.probed, self.unlike = self.probed + other.probed, self.unlike + other.unlike
        self.depth, self.done = max(self.depth, other.depth), self.done + other.done
        self.broken += other.broken
        self.names |= other.names
        self.beyond |= other.beyond


def search_shared(
    plane: Aircraft, list_id: str, begin: Node, most: int, jobs: int, until: float
) -> Iterator[Found]:
    """The straight way, then all of it; `until` is a time of time.monotonic (s)."""
    with uncollected():
        bounds = Bounds(begin, 0, enough=lambda: time.monotonic() > until)
        straight, seen = Found(list_id), {key_of(plane, begin): begin}
        go_on(plane, straight, seen, deque([(begin, 0)]), bounds)
        straight.states = len(seen)
        yield straight
        if most and not straight.broken:
            yield _parts(plane, straight, seen, bounds, most, jobs)


def _parts(
    plane: Aircraft, straight: Found, seen: dict[Hashable, Node], bounds: Bounds, most: int,
    jobs: int,
) -> Shared:  # fmt: skip
    edge = [one for one in bounds.edge if not bounds.beyond(one[0], most)]
    wider = Bounds(bounds.begin, most, enough=bounds.enough)
    fork = get_context("fork")
    following: Synchronized[int] = fork.Value("i", 0)
    all_of_them = Shared(straight.list_id, parts=len(edge), moves=straight.moves)
    with tempfile.TemporaryDirectory() as folder:
        places = [Path(folder) / str(job) for job in range(jobs)]
        work = partial(_work, plane, straight.list_id, seen, edge, wider, following)
        running = [fork.Process(target=work, args=(place,)) for place in places]
        for one in running:
            one.start()
        for one, place in zip(running, places, strict=True):
            one.join()
            all_of_them.add(_read(straight.list_id, place))
    all_of_them.states = straight.states + len(all_of_them.names)
    all_of_them.cut = straight.cut - len(edge) + len(all_of_them.beyond)
    all_of_them.all_of_it = all_of_them.done == all_of_them.parts
    return all_of_them


def _work(
    plane: Aircraft, list_id: str, seen: dict[Hashable, Node], edge: list[tuple[Node, int]],
    bounds: Bounds, following: Synchronized[int], place: Path,
) -> None:  # fmt: skip
    """Search one part after another; what was found is written as four files."""
    found, known = Shared(list_id), len(seen)
    while not found.broken and not bounds.enough():
        with following.get_lock():
            number, following.value = following.value, following.value + 1
        if number >= len(edge):
            break
        found.all_of_it = True
        go_on(plane, found, seen, deque([edge[number]]), bounds)
        found.done += found.all_of_it
    beyond = {id(node) for node, _ in bounds.edge}
    new = [(hash(name), id(node) in beyond) for name, node in list(seen.items())[known:]]
    place.with_suffix(".names").write_bytes(array("q", (name for name, _ in new)).tobytes())
    cut = array("q", (name for name, far in new if far))
    place.with_suffix(".beyond").write_bytes(cut.tobytes())
    figures = (found.moves, found.depth, found.probed, found.unlike, found.done)
    place.with_suffix(".figures").write_text(" ".join(map(str, figures)), encoding="ascii")
    place.with_suffix(".broken").write_text("\n".join(found.broken), encoding="utf-8")
    os._exit(0)  # without taking down a million states one by one


def _read(list_id: str, place: Path) -> Shared:
    texts = place.with_suffix(".figures").read_text(encoding="ascii").split()
    moves, depth, probed, unlike, done = map(int, texts)
    broken = place.with_suffix(".broken").read_text(encoding="utf-8").splitlines()
    return Shared(
        list_id, moves=moves, depth=depth, broken=broken, probed=probed, unlike=unlike, done=done,
        names=_numbers(place.with_suffix(".names")), beyond=_numbers(place.with_suffix(".beyond")),
    )  # fmt: skip


def _numbers(place: Path) -> set[int]:
    return set(array("q", place.read_bytes()))
