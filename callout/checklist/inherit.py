"""A file that says only its differences, laid over the file it is based on.

Rule of this file: it works on what was written, before any meaning is asked
for. Every node keeps the place it came from, so a problem is told in the file
where it stands.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from callout.checklist.drafts import item_id
from callout.checklist.positions import Node, parse, read_bytes
from callout.checklist.problems import Collector, FileProblems, Place, did_you_mean, listed, quoted
from callout.checklist.schema import KINDS, VERSION

LONGEST_CHAIN = 8
"""Files that may stand behind one another."""

_WHOLE = ("limits_from", "transient", "choose", "only_if", "await")
"""Mappings that are written anew as a whole: half of one and half of another would mislead."""

_ORDERS = ("after", "before", "remove")


@dataclass(frozen=True, slots=True)
class SourceFile:
    """One file as read: its path, its bytes and its tree."""

    path: Path
    data: bytes
    tree: Node


def read_sources(path: Path, problems: Collector) -> list[SourceFile]:
    """The file, then the ones it is based on.  Raises FileProblems if one cannot be read."""
    sources: list[SourceFile] = []
    seen: set[Path] = set()
    asked_at: Place | None = None
    while True:
        source = _read(path, asked_at)
        sources.append(source)
        seen.add(path.resolve())
        base = source.tree.map.get("based_on")
        if base is None:
            return sources
        if not base.text.strip():
            problems.add(base.place, "found no file name; expected one such as other-aircraft.yaml")
            return sources
        path, asked_at = path.parent / base.text.strip(), base.place
        if path.resolve() in seen:
            what = f"this file is based on {quoted(base.text)}, which is based on this one"
            problems.add(base.place, f"{what}; expected no ring of files")
            return sources
        if len(sources) >= LONGEST_CHAIN:
            problems.add(base.place, f"more than {LONGEST_CHAIN} files behind one another")
            return sources


def _read(path: Path, asked_at: Place | None) -> SourceFile:
    try:
        data = read_bytes(path, str(path))
    except FileProblems as error:
        if asked_at is None:
            raise
        problems = Collector()
        for one in error.problems:
            problems.add(asked_at, f"the file this is based on, {path}: {one.message}")
        raise problems.stop() from None
    tree = parse(data, str(path))
    _check_version(tree)
    return SourceFile(path, data, tree)


def _check_version(tree: Node) -> None:
    problems = Collector()
    keys = list(tree.map)
    if keys[:1] != ["callout"]:
        place = tree.map["callout"].key if "callout" in keys else None
        found = f"the first key is {quoted(keys[0])}" if keys else "this is no aircraft file"
        what = f'{found}; expected "callout: {VERSION}" as the first line'
        problems.add(place or tree.place, what)
    elif tree.map["callout"].text != str(VERSION):
        version = tree.map["callout"]
        found = f"the file is written in version {quoted(version.text)} of the language"
        problems.add(version.place, f"{found}; this program reads version {VERSION}")
    if problems:
        raise problems.stop()


def merged(sources: list[SourceFile], problems: Collector) -> Node:
    """One tree out of all files: each laid over the one it is based on."""
    *above, base = sources
    tree = base.tree
    _refuse_orders(tree, problems)
    for source in reversed(above):
        tree = _file_over(tree, source.tree, problems)
    return tree


def _file_over(base: Node, top: Node, problems: Collector) -> Node:
    entries = dict(base.map)
    for key, over in top.map.items():
        under = entries.get(key)
        if under is None or not under.map or not over.map:
            entries[key] = over
        elif key == "lists":
            entries[key] = _lists_over(under, over, problems)
        else:
            entries[key] = _over(under, over, problems)
    return replace(top, value=entries)


def _over(base: Node, top: Node, problems: Collector) -> Node:
    """A mapping laid over another: key by key, and deeper where both are mappings."""
    entries = dict(base.map)
    for key, over in top.map.items():
        under = entries.get(key)
        if _removes(over):
            _take_out(entries, key, over, problems)
        elif under is not None and under.map and over.map and key not in _WHOLE:
            entries[key] = _over(under, over, problems)
        elif key != "remove":
            entries[key] = over
    return replace(top, value=entries)


def _removes(node: Node) -> bool:
    return "remove" in node.map and node.map["remove"].text == "yes"


def _take_out(entries: dict[str, Node], key: str, over: Node, problems: Collector) -> None:
    if key in entries:
        del entries[key]
        return
    what = f"there is no {quoted(key)} to remove in the file this is based on"
    problems.add(over.key or over.place, what + did_you_mean(key, entries))


def _lists_over(base: Node, top: Node, problems: Collector) -> Node:
    entries = dict(base.map)
    for list_id, over in top.map.items():
        if _removes(over):
            _take_out(entries, list_id, over, problems)
        elif list_id in entries:
            entries[list_id] = _list_over(list_id, entries[list_id], over, problems)
        else:
            entries = _new_list(entries, list_id, over, problems)
    return replace(top, value=entries)


def _new_list(
    entries: dict[str, Node], list_id: str, new: Node, problems: Collector
) -> dict[str, Node]:
    """The lists with a new one after the one it names, or at the end."""
    _refuse_item_orders(new, problems)
    after = new.map.get("after")
    near = did_you_mean(list_id, entries)
    if near and after is None and not ("items" in new.map or "sections" in new.map):
        problems.add(new.key or new.place, f"there is no list {quoted(list_id)} to change{near}")
    clean = _without_orders(new)
    if after is None:
        return {**entries, list_id: clean}
    if after.text not in entries:
        what = f"there is no list {quoted(after.text)} to stand after"
        problems.add(after.place, what + did_you_mean(after.text, entries))
        return {**entries, list_id: clean}
    placed: dict[str, Node] = {}
    for key, node in entries.items():
        placed[key] = node
        if key == after.text:
            placed[list_id] = clean
    return placed


def _list_over(list_id: str, base: Node, top: Node, problems: Collector) -> Node:
    """One list over another: headers by key, items by id, sections as a whole."""
    entries = dict(base.map)
    entries.update({k: over for k, over in top.map.items() if k not in ("items", "remove")})
    if "sections" in top.map:
        entries.pop("items", None)
        _refuse_item_orders(top, problems)
        if "items" in top.map:
            entries["items"] = top.map["items"]  # told as "items and sections" later
    elif "items" in top.map:
        rows = _Rows(list_id, base, problems)
        for over in top.map["items"].list:
            rows.lay(over)
        entries.update(rows.entries())
    return replace(top, value=entries)


class _Rows:
    """The items of one list of the base, section by section, while changes are laid over."""

    def __init__(self, list_id: str, base: Node, problems: Collector) -> None:
        self._list_id = list_id
        self._base = base
        self._problems = problems
        sections = base.map["sections"].list if "sections" in base.map else [base]
        self._rows = [
            list(part.map["items"].list) if "items" in part.map else [] for part in sections
        ]

    def ids(self) -> list[str]:
        return [item_id(node) for row in self._rows for node in row]

    def lay(self, over: Node) -> None:
        """Change, add, move or remove one item."""
        name = item_id(over)
        at = self._find(name)
        beside = next((over.map[key] for key in ("after", "before") if key in over.map), None)
        if at is None and (beside is None or _removes(over)):
            self._unknown(name, over)
            return
        node = over
        if at is not None:
            row, column = at
            if _removes(over):
                del self._rows[row][column]
                return
            node = _item_over(self._rows[row][column], over)
            if beside is None:
                self._rows[row][column] = node
                return
            del self._rows[row][column]
        self._insert(_without_orders(node), over)

    def _insert(self, node: Node, over: Node) -> None:
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
        self._rows[row].insert(column + (key == "after"), node)

    def _find(self, name: str) -> tuple[int, int] | None:
        for row, nodes in enumerate(self._rows):
            for column, node in enumerate(nodes):
                if name and item_id(node) == name:
                    return row, column
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
            return {"items": replace(items, value=self._rows[0])}
        node = self._base.map["sections"]
        sections: list[Node] = []
        for part, row in zip(node.list, self._rows, strict=True):
            if row:
                items = replace(part.map.get("items", part), value=row)
                sections.append(replace(part, value={**part.map, "items": items}))
        return {"sections": replace(node, value=sections)}


def _item_over(base: Node, top: Node) -> Node:
    """An item over another; a new kind key writes the whole task anew."""
    entries = dict(base.map)
    if any(key in KINDS for key in top.map):
        companions = {key for keys in KINDS.values() for key in keys}
        entries = {k: v for k, v in entries.items() if k not in KINDS and k not in companions}
    entries.update({key: node for key, node in top.map.items() if key not in _ORDERS})
    return replace(top, value=entries)


def _without_orders(node: Node) -> Node:
    entries = {key: child for key, child in node.map.items() if key not in _ORDERS}
    return replace(node, value=entries) if node.map else node


def _refuse_orders(tree: Node, problems: Collector) -> None:
    """A file based on none can change nothing: `after`, `before`, `remove` are mistakes there."""
    for key in ("gauges", "counters", "lists"):
        for entry in tree.map[key].map.values() if key in tree.map else ():
            _refuse_in(entry, problems)
            for limit in entry.map["limits"].map.values() if "limits" in entry.map else ():
                _refuse_in(limit, problems)
            _refuse_item_orders(entry, problems)


def _refuse_item_orders(entry: Node, problems: Collector) -> None:
    sections = entry.map["sections"].list if "sections" in entry.map else []
    for part in (entry, *sections):
        for item in part.map["items"].list if "items" in part.map else ():
            _refuse_in(item, problems)


def _refuse_in(node: Node, problems: Collector) -> None:
    for key in _ORDERS:
        if key in node.map:
            place = node.map[key].key or node.map[key].place
            words = listed([f'"{word}"' for word in _ORDERS], "and")
            problems.add(place, f"found {quoted(key)}; {words} change a list of another file only")
