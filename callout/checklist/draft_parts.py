"""A file's parts as they are read: each with what was written and what it became.

Rule of this file: values alone. A part that is wrong is None and keeps its node, so that
the rest can still be looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from callout.checklist.duties import CoolDown, Counter, Due, ResidualFire, RunDown
from callout.checklist.model import Gauge, Item, Settings, Source
from callout.checklist.order import OrderRule
from callout.checklist.positions import Node
from callout.checklist.schema import AircraftEntry, ListEntry
from callout.checklist.start_watch import StartWatch


@dataclass(slots=True)
class ItemDraft:
    """One item: id ("" if none could be made), node, and the item if it is right."""

    id: str
    node: Node
    item: Item | None


@dataclass(slots=True)
class SectionDraft:
    """One section with its items."""

    name: str
    items: list[ItemDraft] = field(default_factory=list)


@dataclass(slots=True)
class ListDraft:
    """One list: its header if that is right, and its sections."""

    id: str
    node: Node
    header: ListEntry | None
    sections: list[SectionDraft] = field(default_factory=list)

    def items(self) -> Iterator[ItemDraft]:
        """All items in order."""
        for section in self.sections:
            yield from section.items

    def item_ids(self) -> list[str]:
        """The ids of all items, right or wrong."""
        return [draft.id for draft in self.items() if draft.id]


@dataclass(slots=True)
class FileDraft:
    """A whole file, after inheritance."""

    node: Node
    aircraft: AircraftEntry | None = None
    source: Source | None = None
    settings: Settings = field(default_factory=Settings)
    engine_states: list[str] = field(default_factory=list)
    reactions: tuple[tuple[str, float], ...] = ()
    gauges: dict[str, tuple[Node, Gauge | None]] = field(default_factory=dict)
    counters: dict[str, tuple[Node, Counter | None]] = field(default_factory=dict)
    dues: dict[str, tuple[Node, Due | None]] = field(default_factory=dict)
    cool_down: CoolDown | None = None
    run_down: RunDown | None = None
    residual_fire: ResidualFire | None = None
    start_watch: StartWatch | None = None
    orders: list[OrderRule] = field(default_factory=list)
    lists: dict[str, ListDraft] = field(default_factory=dict)
