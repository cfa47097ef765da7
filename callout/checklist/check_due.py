"""Whether what has to be done again and again fits the rest of the file.

Rule of this file: as checks.py: it looks at drafts and notes problems, each at
the word that is wrong.
"""

from __future__ import annotations

from collections.abc import Container
from decimal import Decimal

from callout.checklist.check_references import item_path, known
from callout.checklist.draft_parts import FileDraft
from callout.checklist.fields import amount
from callout.checklist.positions import Node
from callout.checklist.problems import Collector, quoted

_NEEDS = (
    ("every", ("counter",)),
    ("counter", ("every",)),
    ("warn", ("every",)),
    ("months", ("date",)),
    ("days", ("date",)),
    ("warn_days", ("date",)),
)
"""Keys that mean nothing without another one."""


def check(made: FileDraft, problems: Collector) -> None:
    """Note everything that does not fit."""
    _former([node for node, _ in made.counters.values()], "counter", made.counters, problems)
    _former([node for node, _ in made.dues.values()], "due", made.dues, problems)
    for node, due in made.dues.values():
        if due is None:
            continue
        if not node.map.keys() & {"counter", "every", "date"}:
            what = f'due "{due.id}" has neither a counter nor a date; expected one, or both'
            problems.add(node.key or node.place, what)
        _partners(node, problems)
        _kind(node, made, problems)
        for key in ("said_at", "closes"):
            for one in _each(node, key):
                if known(one.text, made.lists, one.place, "list", problems) and key == "closes":
                    _normal(one, made, problems)
        for one in _each(node, "done_by"):
            item_path(one.text, made, one.place, problems)


def _each(node: Node, key: str) -> list[Node]:
    """What is written there: one, or several."""
    part = node.map.get(key)
    return [] if part is None else part.list or [part]


def _former(nodes: list[Node], what: str, there: Container[str], problems: Collector) -> None:
    """A key that something had before is nothing's now, and was one thing's only."""
    had: set[str] = set()
    for one in (former for node in nodes for former in _each(node, "formerly")):
        if one.text in had:
            named = f'{quoted(one.text)} stands under "formerly" of another {what}'
            problems.add(one.place, f"{named}; expected it in one place only")
        had.add(one.text)
        if one.text in there:
            still = f"{what} {quoted(one.text)} still stands in this file"
            problems.add(one.place, f"{still}; expected a key that nothing has any more")


def _partners(node: Node, problems: Collector) -> None:
    for key, needed in _NEEDS:
        if key in node.map and not node.map.keys() & set(needed):
            place = node.map[key].key or node.map[key].place
            what = f'"{key}" without "{needed[0]}"; expected it beside this'
            problems.add(place, what)
    if "months" in node.map and "days" in node.map:
        place = node.map["days"].key or node.map["days"].place
        problems.add(place, '"days" beside "months"; expected one of them')


def _kind(node: Node, made: FileDraft, problems: Collector) -> None:
    """A counter of turns goes by numbers, one of seconds by hours."""
    part = node.map.get("counter")
    if part is None or not known(part.text, made.counters, part.place, "counter", problems):
        return
    counter = made.counters[part.text][1]
    for key in ("every", "warn") if counter is not None else ():
        if key not in node.map:
            continue
        found = amount(node.map[key].text)
        timed = counter is not None and bool(counter.ends)
        if timed is isinstance(found, Decimal):
            wanted = 'hours, such as "50 h"' if timed else "a number, such as 300"
            what = f"counter {quoted(part.text)} does not go by {quoted(node.map[key].text)}"
            problems.add(node.at(key), f"{what}; expected {wanted}")


def _normal(one: Node, made: FileDraft, problems: Collector) -> None:
    header = made.lists[one.text].header
    kind = (header.kind if header else None) or "normal"
    if kind != "normal":
        found = f"list {quoted(one.text)} is of kind {kind}"
        problems.add(one.place, f"{found}, which is never kept closed; expected a normal one")
