"""What a search of states is made of: a state on its way, how far to go, what was found.

Rule of this file: no engine runs here.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field

from engine_checks import SILENT
from states_key import key

from callout.checklist.model import Aircraft
from callout.engine.rules import ITEM_STATES, State
from callout.engine.state import SessionState, Status

OVERRIDES = 3
"""Utterances since an override was asked for are counted so far."""

BESIDE = frozenset(State) - ITEM_STATES - {State.READY, State.REVIEWING, *SILENT}
"""States in which something else is dealt with than the item in hand."""

OPENED = (Status.DEFERRED, Status.SKIPPED, Status.OVERRIDDEN)


@dataclass(frozen=True, slots=True)
class Node:
    """A state, how long ago an override was asked for, and how it was reached."""

    state: SessionState
    since_override: int
    parent: Node | None = None
    words: str = ""

    def way(self) -> list[str]:
        """The moves that lead here."""
        before = self.parent.way() if self.parent is not None else []
        return [*before, self.words] if self.words else before


@dataclass
class Found:
    """What the search of one list came to.

    Fields:
        states, moves, cut: how many states, moves made, and states not gone on from
        depth: moves on the shortest way to the furthest state
        left: the state in which each other list was first reached
        broken: the ways on which an invariant does not hold, with what does not
        probed: meetings of two states looked at closely
        unlike, reordered: of these, after how many a move leads to two keys, and of the others
            after how many to two that differ in the order of their deadlines only
        all_of_it: it was not stopped by `at_most`
        met: the engine's states in which it was
    """

    list_id: str
    states: int = 0
    moves: int = 0
    cut: int = 0
    depth: int = 0
    left: dict[str, Node] = field(default_factory=dict)
    broken: list[str] = field(default_factory=list)
    probed: int = 0
    unlike: int = 0
    reordered: int = 0
    all_of_it: bool = True
    met: set[str] = field(default_factory=set)


@dataclass
class Bounds:
    """How far a search goes.

    Fields:
        begin: where its list begins; most: departures in a state that is gone on from
        at_most: states that are seen; enough: whether it is to stop now
    """

    begin: Node
    most: int
    at_most: int = 10**9
    enough: Callable[[], bool] = lambda: False
    ground: int = field(init=False)

    def __post_init__(self) -> None:
        self.ground = departures(self.begin.state, self.begin.state)

    def beyond(self, node: Node) -> bool:
        """Whether there are too many departures in it."""
        return departures(node.state, self.begin.state) > self.ground + self.most


def departures(state: SessionState, begin: SessionState) -> int:
    """How many things are not as on the straight way, see above.

    Each item left open or overridden, each alert, squawk and count but the list's first;
    being asked again; being held, stood by, or asked back about something; and long gone.
    """
    marks = () if state.run is None else state.run.marks
    aside = (
        state.times_asked > 0,
        state.queried,
        state.mode in BESIDE,
        state.back_to in BESIDE,
        state.long_gone,
        state.run is not None and state.run.forced,
        bool(state.squawks.open),
    )
    opened = sum(mark.status in OPENED for mark in marks)
    counts = zip(state.duties.tallies, begin.duties.tallies, strict=True)
    turns = sum(max(0, int(one.turns - old.turns) - 1) for one, old in counts)
    return opened + len(state.alerts) + turns + sum(aside)


def key_of(plane: Aircraft, node: Node) -> tuple[Hashable, int]:
    """The key of its state, and whether an override was just asked for."""
    asked = node.state.overriding is not None
    return (key(plane, node.state), node.since_override if asked else OVERRIDES)
