"""What the ear's own measure says about a file's words, for a review.

Rule of this file: it joins lists and sounds; what is found fault with is
decided in callout/checklist/review*.py.

A call that is hard in noise is told by a measure of phones, not by listening:
see HARD. `callout bench calls` listens, and takes minutes.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from callout.checklist.load import load_drafts
from callout.checklist.model import Aircraft, Ask, Choose, Item
from callout.checklist.review import found
from callout.checklist.review_model import Finding, Sounds, scene
from callout.checklist.review_words import says_nothing
from callout.ear.built_in.place import model_folder
from callout.ear.built_in.similar import Confusions, apart
from callout.running.alike import alike
from callout.words.normal import normalise

HARD = 7.5
"""A call whose phones together are missed at less cost than this (natural logarithm) is hard."""
NEAR = 3.4
"""Calls of one list nearer than this are taken for one another, as answers are."""


def review_file(path: Path, confusions: Confusions | None = None) -> tuple[Finding, ...]:
    """Every finding of a file, measured sounds included.  Raises FileProblems."""
    loaded, made = load_drafts(path)
    return found(scene(loaded.aircraft, made, sounds_of(loaded.aircraft, confusions)))


def sounds_of(aircraft: Aircraft, confusions: Confusions | None = None) -> Sounds:
    """What sounds nearly alike in an aircraft's lists, and what is hard to understand."""
    measured = confusions or Confusions.read(model_folder() / "confusions.json")
    places = _places(aircraft)
    pairs: dict[tuple[str, int], list[tuple[str, str, float]]] = {}
    for one in alike(aircraft, measured):
        if not _ticks(one.item) & {one.pair.one, one.pair.other}:
            continue  # both are refused: neither ticks anything for the other
        if says_nothing(one.pair.one) and says_nothing(one.pair.other):
            continue  # "checked" beside "check": told as what they are
        told = (one.pair.one, one.pair.other, one.pair.distance)
        pairs.setdefault(places[id(one.item)], []).append(told)
    frozen = {place: tuple(these) for place, these in pairs.items()}
    return Sounds(frozen, dict(_hard(aircraft, measured)))


def _places(aircraft: Aircraft) -> dict[int, tuple[str, int]]:
    return {
        id(item): (checklist.id, at)
        for checklist in aircraft.lists
        for at, item in enumerate(checklist.items())
    }


def _ticks(item: Item) -> set[str]:
    """The texts of an item that go on with the list."""
    task = item.task
    if isinstance(task, Ask):
        return set(map(normalise, task.answers))
    if isinstance(task, Choose):
        return {normalise(text) for option in task.options for text in option.answers}
    return set()


def _hard(aircraft: Aircraft, measured: Confusions) -> Iterator[tuple[str, str]]:
    for checklist in aircraft.lists:
        calls: dict[str, Item] = {normalise(item.call): item for item in checklist.items()}
        for call, item in calls.items():
            if strength(call, measured) < HARD:
                yield item.call, "it is short, and its sounds are easily missed"
                continue
            near = next(
                (o for o in calls if o < call and apart(call, o, measured, NEAR) < NEAR), ""
            )
            if near:
                yield item.call, f'it sounds nearly like "{near}"'


def strength(call: str, measured: Confusions) -> float:
    """What it costs to miss the whole of a call: how much there is to hear of it."""
    return apart(call, "", measured)
