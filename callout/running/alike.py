"""Answers of an aircraft's lists that the built-in ear could mistake for one another.

Rule of this file: it joins lists, grammars and sounds; what is too near is
decided in callout/ear/built_in/similar.py.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from callout.checklist.model import Aircraft, Ask, Choose, Item
from callout.ear.built_in.place import model_folder
from callout.ear.built_in.similar import Confusions, Pair, too_similar
from callout.running.asked import Kind, asked
from callout.words.normal import normalise


@dataclass(frozen=True, slots=True)
class Alike:
    """A pair that is too similar, and the first item at which both count."""

    item: Item
    pair: Pair

    def sentence(self) -> str:
        """What to tell the author."""
        return (
            f'At "{self.item.call}", "{self.pair.one}" and "{self.pair.other}" count for '
            "different things and sound nearly alike; use words that differ more."
        )


def alike(aircraft: Aircraft, confusions: Confusions | None = None) -> Iterator[Alike]:
    """Every pair once, with the first item where it matters.

    Pairs of words that are not the author's are not told: he cannot change them.
    """
    measured = confusions or Confusions.read(model_folder() / "confusions.json")
    told: set[tuple[str, str]] = set()
    for one in (asked_item for kind in Kind for asked_item in asked(aircraft, kind)):
        for pair in too_similar(one.grammar, measured, only=_own(one.item)):
            if (pair.one, pair.other) not in told:
                told.add((pair.one, pair.other))
                yield Alike(one.item, pair)


def _own(item: Item) -> frozenset[str]:
    """The texts that the author wrote for an item."""
    if isinstance(item.task, Ask):
        return frozenset(normalise(text) for text in (*item.task.answers, *item.task.wrong))
    if isinstance(item.task, Choose):
        return frozenset(normalise(text) for option in item.task.options for text in option.answers)
    return frozenset({""})
