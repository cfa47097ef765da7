"""Findings about gauges: numbers without a unit, limits without a source.

Rule of this file: as review_items.py.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.problems import quoted
from callout.checklist.review_model import Note, Scene
from callout.checklist.review_words import words_of

NO_SOURCE = words_of(
    "none unknown tbd todo memory experience forum internet guess guessed myself me"
)
"""Handbooks that are none, by their first word."""


def no_unit(scene: Scene) -> Iterator[Note]:
    """A gauge that is more than a lamp, and has no unit."""
    for gauge in scene.aircraft.gauges:
        lowest, highest = gauge.possible.at_least, gauge.possible.at_most
        lamp = lowest == 0 and highest == 1
        if gauge.unit == "1" and not lamp:
            node = scene.gauges[gauge.id]
            what = f"{quoted(gauge.call)} is a number without a unit"
            change = "its unit as the handbook has it, such as bar, degC or hPa"
            yield Note(node.at("unit"), what, change, (node,))


def no_source(scene: Scene) -> Iterator[Note]:
    """Limits of which nobody can tell where they come from."""
    source = scene.aircraft.limits_from
    first = source.handbook.lower().replace(",", " ").split()[0]
    if first in NO_SOURCE:
        missing = "no handbook is named"
    elif not (source.issue or source.date):
        missing = "neither issue nor date of the handbook is given"
    else:
        return
    bare = [name for name, node in scene.gauges.items() if _unsourced(node_limits(scene, name))]
    if bare:
        node = scene.node.map["aircraft"]
        what = f"limits of {quoted(bare[0])} have no source: {missing}"
        change = "handbook, issue and date under limits_from, or `source` beside the limit"
        yield Note(node.at("limits_from"), what, change, (node,))


def node_limits(scene: Scene, name: str) -> list[bool]:
    """For each limit of a gauge, whether a source of its own is written."""
    limits = scene.gauges[name].map.get("limits")
    return ["source" in one.map for one in limits.map.values()] if limits else []


def _unsourced(sourced: list[bool]) -> bool:
    return not all(sourced)
