"""What a review finds, and what it looks at, as plain values.

Rule of this file: values and small questions about them; no rule stands here.
A scene holds every list with the places where its items are written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum

from callout.checklist.draft_parts import FileDraft
from callout.checklist.model import Aircraft, Ask, CheckList, Item, ListKind
from callout.checklist.positions import Node
from callout.checklist.problems import Place
from callout.words.normal import normalise


class Grade(Enum):
    """How grave a finding is; the gravest first."""

    SERIOUS = "serious"
    WEAK = "weak"
    ADVICE = "advice"

    def at_least(self, other: Grade) -> bool:
        """Whether this one is as grave as that one, or graver."""
        order = list(Grade)
        return order.index(self) <= order.index(other)


@dataclass(frozen=True, slots=True)
class Sounds:
    """What was measured outside: this room has no ear.

    Fields:
        alike: (list, place of the item in it) -> pairs of texts that count for
            different things there and sound nearly alike, with their distance
        hard: call -> why it is hard to understand in noise, for those that are
    """

    alike: Mapping[tuple[str, int], tuple[tuple[str, str, float], ...]] = field(
        default_factory=dict
    )
    hard: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Line:
    """One item where it stands: its list, its place in it from 0, its section from 0."""

    item: Item
    node: Node
    checklist: CheckList
    list_node: Node
    index: int
    section: int

    @property
    def call(self) -> str:
        """The call, as words are compared."""
        return normalise(self.item.call)

    @property
    def answers(self) -> tuple[str, ...]:
        """The right answers of a question; none for anything else."""
        task = self.item.task
        return tuple(map(normalise, task.answers)) if isinstance(task, Ask) else ()

    @property
    def scopes(self) -> tuple[Node, ...]:
        """Where an exception for it may stand."""
        return (self.node, self.list_node)

    def place(self, *keys: str | int) -> Place:
        """Where this key of it is written, or the item itself."""
        return self.node.at(*keys)


@dataclass(frozen=True, slots=True)
class Written:
    """One list with its lines and its node."""

    checklist: CheckList
    node: Node
    lines: tuple[Line, ...]

    @property
    def normal(self) -> bool:
        """Whether it belongs to the flying day."""
        return self.checklist.kind is ListKind.NORMAL

    def place(self, key: str = "") -> Place:
        """Where its key, or this key of it, is written."""
        if key in self.node.map:
            return self.node.at(key)
        return self.node.key or self.node.place

    def sections(self) -> list[tuple[Line, ...]]:
        """Its lines, section by section."""
        count = len(self.checklist.sections)
        return [tuple(one for one in self.lines if one.section == at) for at in range(count)]


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything that is looked at."""

    aircraft: Aircraft
    node: Node
    lists: tuple[Written, ...]
    gauges: Mapping[str, Node]
    sounds: Sounds

    def lines(self) -> Iterator[Line]:
        """All items, list by list."""
        for one in self.lists:
            yield from one.lines

    def days(self) -> tuple[Written, ...]:
        """The lists of the flying day, in order."""
        return tuple(one for one in self.lists if one.normal)


@dataclass(frozen=True, slots=True)
class Note:
    """What a rule found: where, what, and what would be better.

    Fields:
        scopes: nodes in which the owner may have written that he keeps it
    """

    place: Place
    what: str
    change: str
    scopes: tuple[Node, ...] = ()


@dataclass(frozen=True, slots=True)
class Rule:
    """One thing that is looked for.

    Fields:
        id: its name, by which an owner keeps what it finds
        why: the reason, one sentence
        source: where that is published, or that it is common practice
        look: finds it
    """

    id: str
    grade: Grade
    why: str
    source: str
    look: Callable[[Scene], Iterator[Note]]


@dataclass(frozen=True, slots=True)
class Finding:
    """What is told to the owner.

    Fields:
        kept: the reason for which he keeps it ("" where he did not say so)
    """

    rule: str
    grade: Grade
    place: Place
    what: str
    why: str
    source: str
    change: str
    kept: str = ""

    def __str__(self) -> str:
        """One line, `file:line:column` first, as editors jump to."""
        at = f"{self.place.file}:{self.place.line}:{self.place.column}"
        return f"{at}: {self.grade.value}, {self.rule}: {self.what}"


def scene(aircraft: Aircraft, made: FileDraft, sounds: Sounds) -> Scene:
    """The lists of a file that is right, with their places."""
    lists = []
    for one, checklist in zip(made.lists.values(), aircraft.lists, strict=True):
        rows = [
            (section, draft)
            for section, part in enumerate(one.sections)
            for draft in part.items
            if draft.item
        ]
        lines = tuple(
            Line(draft.item, draft.node, checklist, one.node, at, section)
            for at, (section, draft) in enumerate(rows)
            if draft.item
        )
        lists.append(Written(checklist, one.node, lines))
    gauges = {name: node for name, (node, _) in made.gauges.items()}
    return Scene(aircraft, made.node, tuple(lists), gauges, sounds)
