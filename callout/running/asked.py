"""What counts at each item of a list when it is asked.

Rule of this file: the grammar is the engine's own, of a session that stands at the item.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from callout.checklist.model import Aircraft, Ask, Await, CheckList, Choose, Item, ReadValue
from callout.engine.grammar import grammar_of
from callout.engine.rules import State
from callout.engine.state import Mark, Progress, SessionState
from callout.words.phrases import Grammar


class Kind(Enum):
    """Kinds of items that are told apart."""

    ORDINARY = "ordinary"
    KILLER = "killer"
    VALUE = "value"


@dataclass(frozen=True, slots=True)
class Asked:
    """One item and the grammar that counts when it is asked."""

    item: Item
    grammar: Grammar


def asked(aircraft: Aircraft, kind: Kind) -> list[Asked]:
    """Every item of a kind with its grammar, in the order of the lists."""
    return [
        Asked(item, grammar_of(aircraft, _state(checklist, place, item)))
        for checklist in aircraft.lists
        for place, item in enumerate(checklist.items())
        if kind_of(item) is kind
    ]


def kind_of(item: Item) -> Kind | None:
    """Which kind an item is; None for one that no answer ticks."""
    if isinstance(item.task, ReadValue | Await):
        return Kind.VALUE
    if isinstance(item.task, Ask | Choose):
        return Kind.KILLER if item.killer else Kind.ORDINARY
    return None


def _state(checklist: CheckList, place: int, item: Item) -> SessionState:
    """A session that stands at this item."""
    marks = tuple(Mark() for _ in checklist.items())
    mode = State.AWAITING if isinstance(item.task, Await) else State.ASKING
    return SessionState(mode=mode, run=Progress(checklist.id, marks, 0.0), item=place)
