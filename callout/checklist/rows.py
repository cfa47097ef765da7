"""The items of one list while another file's changes are laid over them.

Rule of this file: it works on what was written. An item is known by its id; a
change names an item that is there, or says where a new one stands.
"""

from __future__ import annotations

from dataclasses import replace

from callout.checklist.drafts import item_id
from callout.checklist.fields import yes_or_no
from callout.checklist.positions import Node
from callout.checklist.problems import Collector, did_you_mean, quoted
from callout.checklist.schema import KINDS

Row = list[tuple[str, Node]]
"""Items in order, each with its id."""

ORDERS = ("after", "before", "remove")
"""Keys that say how a change is made; they never reach the finished file."""


class Rows:
    """The items of one list of the base, section by section, while changes are laid over."""

    def __init__(self, list_id: str, base: Node, problems: Collector) -> None:
        self._list_id = list_id
        self._base = base
        self._problems = problems
        sections = base.map["sections"].list if "sections" in base.map else [base]
        items = [part.map["items"].list if "items" in part.map else [] for part in sections]
        self._rows: list[Row] = [[(item_id(node), node) for node in row] for row in items]

    def ids(self) -> list[str]:
        """The ids of all items as they stand now."""
        return [name for row in self._rows for name, _ in row]

    def lay(self, over: Node) -> None:
        """Change, add, move or remove one item."""
        name = item_id(over)
        at = self._find(name)
        beside = next((over.map[key] for key in ("after", "before") if key in over.map), None)
        if at is None and (beside is None or removes(over, self._problems)):
            self._unknown(name, over)
            return
        node = over
        if at is not None:
            row, column = at
            if removes(over, self._problems):
                del self._rows[row][column]
                return
            node = _item_over(self._rows[row][column][1], over)
            if beside is None:
                self._rows[row][column] = (name, node)
                return
            del self._rows[row][column]
        self._insert(name, without_orders(node), over)

    def _insert(self, name: str, node: Node, over: Node) -> None:
        key = "after" if "after" in over.map else "before"
        beside = over.map[key]
        at = self._find(beside.text)
        if at is None:
            what = (
                f'there is no item {quoted(beside.text)} in list "{self._list_id}" to stand {key}'
            )
            self._problems.add(beside.place, what + did_you_mean(beside.text, self.ids()))
            return
        row, column = at
        self._rows[row].insert(column + (key == "after"), (name, node))

    def _find(self, name: str) -> tuple[int, int] | None:
        for at, row in enumerate(self._rows):
            for column, (known, _) in enumerate(row):
                if name and known == name:
                    return at, column
        return None

    def _unknown(self, name: str, over: Node) -> None:
        what = f'there is no item {quoted(name)} in list "{self._list_id}" to change'
        near = did_you_mean(name, self.ids())
        expected = near or '; expected "after" or "before" in a new item'
        self._problems.add(over.place, what + expected)

    def entries(self) -> dict[str, Node]:
        """The keys of the list that hold its items, as changed; an emptied section is gone."""
        if "sections" not in self._base.map:
            items = self._base.map.get("items", self._base)
            return {"items": replace(items, value=_nodes(self._rows[0]))}
        node = self._base.map["sections"]
        sections: list[Node] = []
        for part, row in zip(node.list, self._rows, strict=True):
            if row:
                items = replace(part.map.get("items", part), value=_nodes(row))
                sections.append(replace(part, value={**part.map, "items": items}))
        return {"sections": replace(node, value=sections)}


def _nodes(row: Row) -> list[Node]:
    return [node for _, node in row]


def _item_over(base: Node, top: Node) -> Node:
    """An item over another; a new kind key writes the whole task anew."""
    entries = dict(base.map)
    if any(key in KINDS for key in top.map):
        companions = {key for keys in KINDS.values() for key in keys}
        entries = {k: v for k, v in entries.items() if k not in KINDS and k not in companions}
    entries.update({key: node for key, node in top.map.items() if key not in ORDERS})
    return replace(top, value=entries)


def removes(node: Node, problems: Collector) -> bool:
    """Whether the mapping says `remove: yes`; anything but yes or no is noted."""
    if "remove" not in node.map:
        return False
    try:
        return yes_or_no(node.map["remove"].value)
    except ValueError as error:
        problems.add(node.map["remove"].place, str(error))
        return False


def without_orders(node: Node) -> Node:
    """The mapping without the keys that say how a change is made."""
    entries = {key: child for key, child in node.map.items() if key not in ORDERS}
    return replace(node, value=entries) if node.map else node
