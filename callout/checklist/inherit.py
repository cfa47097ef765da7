"""A file that says only its differences, laid over the file it is based on.

Rule of this file: it works on what was written, before any meaning is asked
for. Every node keeps the place it came from, so a problem is told in the file
where it stands.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from callout.checklist.positions import Node, parse, read_bytes
from callout.checklist.problems import Collector, FileProblems, Place, did_you_mean, listed, quoted
from callout.checklist.rows import ORDERS, Rows, removes, without_orders
from callout.checklist.schema import VERSION

LONGEST_CHAIN = 8
"""Files that may stand behind one another."""

_WHOLE = ("limits_from", "transient", "choose", "only_if", "await", "seconds")
"""Mappings that are written anew as a whole: half of one and half of another would mislead."""


_ONE_OF_A_KIND = ("cool_down", "run_down", "residual_fire", "start_watch")
"""Parts that a file has once and that another file may take out."""


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
        elif key in _ONE_OF_A_KIND and removes(over, problems):
            _take_out(entries, key, over, problems)
        elif key == "lists":
            entries[key] = _lists_over(under, over, problems)
        else:
            entries[key] = _over(under, over, problems)
        if key in ("gauges", "counters", "due") and key in base.map and not entries[key].map:
            del entries[key]  # all of them were taken out
    return replace(top, value=entries)


def _over(base: Node, top: Node, problems: Collector) -> Node:
    """A mapping laid over another: key by key, and deeper where both are mappings."""
    entries = dict(base.map)
    for key, over in top.map.items():
        under = entries.get(key)
        if removes(over, problems):
            _take_out(entries, key, over, problems)
        elif under is not None and under.map and over.map and key not in _WHOLE:
            entries[key] = _over(under, over, problems)
        elif key != "remove":
            entries[key] = over
    return replace(top, value=entries)


def _take_out(entries: dict[str, Node], key: str, over: Node, problems: Collector) -> None:
    if key in entries:
        del entries[key]
        return
    what = f"there is no {quoted(key)} to remove in the file this is based on"
    problems.add(over.key or over.place, what + did_you_mean(key, entries))


def _lists_over(base: Node, top: Node, problems: Collector) -> Node:
    entries = dict(base.map)
    for list_id, over in top.map.items():
        if removes(over, problems):
            _take_out(entries, list_id, over, problems)
        elif list_id in entries:
            entries[list_id] = _list_over(list_id, entries[list_id], over, problems)
            entries = _placed(entries, list_id, over, problems)
        else:
            _check_new_list(entries, list_id, over, problems)
            entries = _placed({**entries, list_id: over}, list_id, over, problems)
    return replace(top, value=entries)


def _check_new_list(entries: dict[str, Node], list_id: str, new: Node, problems: Collector) -> None:
    _refuse_item_orders(new, problems)
    near = did_you_mean(list_id, entries)
    if near and not new.map.keys() & {"items", "sections", "after"}:
        problems.add(new.key or new.place, f"there is no list {quoted(list_id)} to change{near}")


def _placed(
    entries: dict[str, Node], list_id: str, over: Node, problems: Collector
) -> dict[str, Node]:
    """The lists with this one after the one that `over` names, or where it is."""
    clean = without_orders(entries[list_id])
    after = over.map.get("after")
    if after is None:
        return {**entries, list_id: clean}
    others = {key: node for key, node in entries.items() if key != list_id}
    if after.text not in others:
        what = f"there is no list {quoted(after.text)} to stand after"
        problems.add(after.place, what + did_you_mean(after.text, others))
    placed: dict[str, Node] = {}
    for key, node in others.items():
        placed[key] = node
        if key == after.text:
            placed[list_id] = clean
    return placed if list_id in placed else {**others, list_id: clean}


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
        rows = Rows(list_id, base, problems)
        for over in top.map["items"].list:
            rows.lay(over)
        entries.update(rows.entries())
    return replace(top, value=entries)


def _refuse_orders(tree: Node, problems: Collector) -> None:
    """A file based on none can change nothing: `after`, `before`, `remove` are mistakes there."""
    for key in ("gauges", "counters", "due", "lists"):
        for entry in tree.map[key].map.values() if key in tree.map else ():
            _refuse_in(entry, problems)
            for limit in entry.map["limits"].map.values() if "limits" in entry.map else ():
                _refuse_in(limit, problems)
            _refuse_item_orders(entry, problems)
    for key in _ONE_OF_A_KIND:
        if key in tree.map:
            _refuse_in(tree.map[key], problems)
    watch = tree.map.get("start_watch", tree)
    for key in ("phases", "faults"):
        for entry in watch.map[key].map.values() if key in watch.map else ():
            _refuse_in(entry, problems)


def _refuse_item_orders(entry: Node, problems: Collector) -> None:
    sections = entry.map["sections"].list if "sections" in entry.map else []
    for part in (entry, *sections):
        for item in part.map["items"].list if "items" in part.map else ():
            _refuse_in(item, problems)


def _refuse_in(node: Node, problems: Collector) -> None:
    for key in ORDERS:
        if key in node.map:
            place = node.map[key].key or node.map[key].place
            words = listed([f'"{word}"' for word in ORDERS], "and")
            problems.add(place, f"found {quoted(key)}; {words} change a list of another file only")
