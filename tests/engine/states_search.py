"""Every state of a list that can be reached, breadth first, and the invariants in each.

Rule of this file: from one state of each key (states_key.py) every move is made
(states_moves.py) through the real engine, and each step is held against the eight
invariants (engine_checks.py), as the random machine's steps are. What is found is the
shortest way to it.

A list is searched from the state in which it was first reached until it is left: by
another list that opens, or by the session's end. The state behind is held against the
invariants too, and is where the search of that other list begins; a list's own course
depends on closed ones only through what it needs of them and through choices.

The bound: marks of 23 items alone make more states than any machine holds, so a state is
not gone on from when there are more than `most` departures from the straight way in it,
all kinds together (`departures`): with one, everything that can go wrong goes wrong at
each place of the list; with two, each pair of such things does. Faults that need three at
once are not looked for here but by the random machine of test_engine_invariants.py. How
many states were not gone on from is told.
"""

from __future__ import annotations

import gc
import random
from collections import deque
from collections.abc import Hashable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Protocol

from engine_checks import SILENT, Checks
from engine_pilot import one_right_answer
from states_found import OVERRIDES, Bounds, Found, Node, key_of
from states_key import without_order
from states_moves import Move, moves

from callout.checklist.model import Aircraft
from callout.engine import events as ev
from callout.engine.effects import Record
from callout.engine.session import BrokenRuleError, Session

PROBED = 1000
"""One meeting in so many is looked at more closely."""


class Step(Checks):
    """One step of a session, held against the invariants."""

    def __init__(self, plane: Aircraft) -> None:
        self.plane = plane
        self.session = Session(plane)
        self.now = 0.0
        self.utterances = OVERRIDES
        self.override_asked: dict[str, int] = _Always()

    def take(self, node: Node, move: Move) -> Node:
        """The state behind the move; AssertionError if an invariant does not hold."""
        self.session.state = node.state
        self.now = move.now
        spoke = isinstance(move.event, ev.Heard)
        since = min(OVERRIDES, node.since_override + spoke)
        self.override_asked = _Always(self.utterances - since)
        effects = self.session.handle(move.event, move.now)
        self.all_hold(node.state, move.event, effects)
        facts = [effect.fact for effect in effects if isinstance(effect, Record)]
        since = 0 if "override asked" in facts else since
        return Node(self.session.state, since, node, move.words)


class _Always(dict[str, int]):
    """The same for whatever is asked, until it is set."""

    def __init__(self, value: int = 0) -> None:
        super().__init__()
        self.value = value

    def __missing__(self, name: str) -> int:
        return self.value


def entries(plane: Aircraft) -> dict[str, Node]:
    """Where each list of the flying day begins if everything before it was answered right."""
    session, now = Session(plane), 0.0
    session.handle(ev.SessionOpened(()), now)
    found: dict[str, Node] = {}
    while not session.ended:
        run = session.state.run
        if run is not None and run.list_id not in found:
            found[run.list_id] = Node(session.state, OVERRIDES)
        now = one_right_answer(session, plane, now)
    return found


def search(
    plane: Aircraft, list_id: str, begin: Node, most: int = 1, at_most: int = 10**9
) -> Found:
    """Search one list; about so many states at most, and no further than the first fault."""
    with uncollected():
        return _search(plane, list_id, begin, most, at_most)


@contextmanager
def uncollected() -> Iterator[None]:
    """Without looks for garbage that refers to itself: values do not, and there are many."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


def _search(plane: Aircraft, list_id: str, begin: Node, most: int, at_most: int) -> Found:
    found = Found(list_id)
    seen = {key_of(plane, begin): begin}
    go_on(plane, found, seen, deque([(begin, 0)]), Bounds(begin, most, at_most))
    found.states = len(seen)
    return found


def go_on(
    plane: Aircraft, found: Found, seen: dict[Hashable, Node], heap: deque[tuple[Node, int]],
    bounds: Bounds,
) -> None:  # fmt: skip
    """Search on from the states of the heap, until there are none or a fault is found."""
    step, chance = Step(plane), random.Random(1)
    while heap and not found.broken:
        node, depth = heap.popleft()
        found.depth = max(found.depth, depth)
        for move in moves(plane, node.state):
            found.moves += 1
            after = taken(step, node, move, found.broken)
            if after is None:
                continue
            name = key_of(plane, after)
            if name in seen:
                _same_words(found, seen[name], after)
                if chance.randrange(PROBED) == 0 and after.state.mode not in SILENT:
                    probe(plane, step, seen[name], after, found)
                continue
            seen[name] = after
            found.met.add(after.state.mode.value)
            left = left_for(after, found.list_id)
            if left is not None:
                if left:
                    found.left.setdefault(left, after)
            elif bounds.beyond(after):
                found.cut += 1
            elif len(seen) >= bounds.at_most:
                found.all_of_it = False
            else:
                heap.append((after, depth + 1))


def taken(step: Step, node: Node, move: Move, broken: list[str]) -> Node | None:
    """The state behind the move; none, and the way told, if an invariant does not hold."""
    try:
        return step.take(node, move)
    except (AssertionError, BrokenRuleError) as fault:
        broken.append(_told([*node.way(), move.words], fault))
    return None


def _told(way: list[str], broken: AssertionError) -> str:
    where = broken.__traceback__
    while where is not None and where.tb_next is not None:
        where = where.tb_next
    name = where.tb_frame.f_code.co_name if where is not None else ""
    return f"{name} ({str(broken).splitlines()[0] if str(broken) else ''}): {' / '.join(way)}"


def left_for(node: Node, list_id: str) -> str | None:
    """The list for which this one was left, "" if for good; None if it was not."""
    state = node.state
    if state.mode in SILENT:
        return ""
    if state.run is None or state.run.list_id == list_id:
        return None
    return state.run.list_id


def _same_words(found: Found, met: Node, node: Node) -> None:
    """Two states with one key have to hear the same."""
    known, here = met.state.grammar, node.state.grammar
    heard = node.state.mode not in SILENT
    if heard and (known.phrases, known.numbers) != (here.phrases, here.numbers):
        found.broken.append(f"one key, two grammars: {' / '.join(node.way())}")


class Probed(Protocol):
    """Where it is counted how two states with one key go on."""

    probed: int
    unlike: int
    reordered: int


def probe(plane: Aircraft, step: Step, known: Node, node: Node, found: Probed) -> None:
    """Whether the same moves lead on from two states with one key to states with one key."""
    found.probed += 1
    one, other = _onward(plane, step, known), _onward(plane, step, node)
    if one == other:
        return
    if _without_order(one) == _without_order(other):
        found.reordered += 1
    else:
        found.unlike += 1


def _without_order(onward: dict[str, tuple[Hashable, int]]) -> dict[str, Hashable]:
    return {words: (without_order(name), asked) for words, (name, asked) in onward.items()}


def _onward(plane: Aircraft, step: Step, node: Node) -> dict[str, tuple[Hashable, int]]:
    """The key behind each move; moves against an invariant are told by the search itself."""
    behind: dict[str, tuple[Hashable, int]] = {}
    for move in moves(plane, node.state):
        with suppress(AssertionError):
            behind[move.words] = key_of(plane, step.take(node, move))
    return behind


def search_all(
    plane: Aircraft, most: int, at_most: int = 10**9, only: Sequence[str] | None = None
) -> Iterator[Found]:
    """Each list of the day, then those that are reached from them, until no new one is.

    With `only`, these lists of the day, each from where the day reaches it.
    """
    begin = entries(plane)
    waiting = deque(only or begin)
    while waiting:
        list_id = waiting.popleft()
        found = search(plane, list_id, begin[list_id], most, at_most)
        for name, node in () if only else found.left.items():
            if name not in begin:
                begin[name] = Node(node.state, OVERRIDES)
                waiting.append(name)
        yield found
