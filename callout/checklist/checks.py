"""Whether what one part of a file says about another fits together.

Rule of this file: it looks at drafts and notes problems, each at the place
where the wrong word stands; it changes nothing. A part that was wrong in
itself is None here and is passed over, but its name still counts as known.
"""

from __future__ import annotations

from collections.abc import Iterable

from callout.checklist import (
    check_duties,
    check_feed,
    check_order,
    check_squawks,
    check_values,
    check_watch,
    check_words,
)
from callout.checklist.check_references import item_path, known
from callout.checklist.draft_parts import FileDraft, ItemDraft, ListDraft
from callout.checklist.model import Await, Choose, Condition, GoTo, ReadValue
from callout.checklist.positions import Node
from callout.checklist.problems import Collector, Place


def check(made: FileDraft, problems: Collector) -> None:
    """Note everything that does not fit together."""
    _Checker(made, problems).check()
    check_values.check(made, problems)
    check_feed.check(made, problems)
    check_duties.check(made, problems)
    check_watch.check(made, problems)
    check_words.check(made, problems)
    check_squawks.check(made, problems)
    check_order.check(made, problems)


class _Checker:
    def __init__(self, made: FileDraft, problems: Collector) -> None:
        self._made = made
        self._problems = problems
        self._order = {list_id: at for at, list_id in enumerate(made.lists)}
        self._by_id: dict[str, list[tuple[ListDraft, ItemDraft]]] = {}
        self._row: dict[int, int] = {}
        for at, (one, item) in enumerate(self._all_items()):
            self._by_id.setdefault(item.id, []).append((one, item))
            self._row[id(item)] = at

    def check(self) -> None:
        self._engine_states()
        self._choices()
        for one in self._made.lists.values():
            self._header(one)
            for item in one.items():
                self._item(one, item)
            self._after_go_to(one)
        self._rings("needs", self._needed())
        self._rings("opens", self._opened())

    def _known(self, word: str, words: Iterable[str], place: Place, what: str) -> bool:
        """Note a reference to something that the file does not have."""
        return known(word, words, place, what, self._problems)

    def _engine_states(self) -> None:
        states = ["any", *self._made.engine_states]
        what = "engine state"
        for node, _ in self._made.gauges.values():
            limits = node.map.get("limits")
            for state, limit in limits.map.items() if limits else ():
                self._known(state, states, limit.key or limit.place, what)
        for one in self._made.lists.values():
            if one.header and one.header.engine_state:
                self._known(one.header.engine_state, states, one.node.at("engine_state"), what)

    def _item_path(self, path: str, place: Place) -> None:
        item_path(path, self._made, place, self._problems)

    def _choices(self) -> None:
        """A choice is known by its item id alone, so no two choices may share one."""
        seen: dict[str, str] = {}
        for one, item in self._all_items():
            if item.item and isinstance(item.item.task, Choose):
                if item.id in seen:
                    what = f'there is a choice "{item.id}" in list "{seen[item.id]}" already'
                    self._problems.add(item.node.place, f'{what}; expected another "id"')
                seen.setdefault(item.id, one.id)

    def _all_items(self) -> Iterable[tuple[ListDraft, ItemDraft]]:
        return ((one, item) for one in self._made.lists.values() for item in one.items())

    def _header(self, one: ListDraft) -> None:
        header, node = one.header, one.node
        if header is None:
            return
        aborts = [(header.abort, node.at("abort"))] if header.abort else []
        aborts += [(name, node.at("aborts", at)) for at, name in enumerate(header.aborts or ())]
        for name, place in aborts:
            if self._known(name, self._made.lists, place, "list"):
                self._must_be_abort(name, place)
        for at, need in enumerate(header.needs or ()):
            place = node.at("needs", at)
            if "/" in need:
                self._item_path(need, place)
            else:
                self._known(need, self._made.lists, place, "list")
            if need.partition("/")[0] == one.id:
                self._problems.add(place, f'list "{one.id}" needs itself; expected another list')

    def _must_be_abort(self, name: str, place: Place) -> None:
        header = self._made.lists[name].header
        if header and header.kind != "abort":
            kind = header.kind or "normal"
            found = f'list "{name}" is of kind {kind}'
            self._problems.add(place, f"{found}; expected one of kind abort")

    def _item(self, one: ListDraft, draft: ItemDraft) -> None:
        item, node = draft.item, draft.node
        if item is None:
            return
        task = item.task
        if isinstance(task, ReadValue):
            self._known(task.gauge, self._made.gauges, node.at("read"), "gauge")
        elif isinstance(task, Await):
            self._await(one, task, task.condition, node)
        elif isinstance(task, GoTo):
            place = node.at("go_to")
            if self._known(task.list_id, self._made.lists, place, "list") and (
                task.list_id == one.id
            ):
                self._problems.add(place, f'list "{one.id}" goes to itself; expected another list')
        elif isinstance(task, Choose) and len(task.options) < 2:
            what = "a choice of one way is no choice; expected two or more"
            self._problems.add(node.at("choose"), what)
        for only in item.only_if:
            self._only_if(one, draft, only.choice, only.option)

    def _await(self, one: ListDraft, task: Await, condition: Condition, node: Node) -> None:
        self._known(condition.gauge, self._made.gauges, node.at("await", "gauge"), "gauge")
        if not task.missed:
            return
        place = node.at("await", "missed")
        if task.within is None:
            self._problems.add(place, '"missed" has no time; expected "within" beside it')
        if self._known(task.missed, self._made.lists, place, "list") and task.missed == one.id:
            self._problems.add(place, f'list "{one.id}" opens itself; expected another list')

    def _only_if(self, one: ListDraft, draft: ItemDraft, choice: str, option: str) -> None:
        node = draft.node.map["only_if"].map[choice]
        found = self._by_id.get(choice, [])
        choices = [
            (where, item, item.item.task)
            for where, item in found
            if item.item and isinstance(item.item.task, Choose)
        ]
        if found and not choices:
            if all(item.item for _, item in found):
                what = f'item "{choice}" is no choice; expected an item with "choose"'
                self._problems.add(node.key or node.place, what)
            return
        if not choices:
            names = [i.id for _, i in self._all_items() if "choose" in i.node.map]
            self._known(choice, names, node.key or node.place, "choice")
            return
        where, item, task = choices[0]
        self._known(option, [o.id for o in task.options], node.place, f'way in choice "{choice}"')
        if not self._comes_before(where, item, one, draft):
            what = f'choice "{choice}" comes after this item; expected it before'
            self._problems.add(node.key or node.place, what)

    def _comes_before(self, a: ListDraft, x: ItemDraft, b: ListDraft, y: ItemDraft) -> bool:
        if a is b:
            return self._row[id(x)] < self._row[id(y)]
        breaks_in = b.header is not None and b.header.kind in ("abort", "emergency")
        return breaks_in or self._order[a.id] < self._order[b.id]

    def _after_go_to(self, one: ListDraft) -> None:
        gone = None
        for draft in one.items():
            if gone is not None:
                what = f'nothing after "{gone}" is reached: it always leaves the list'
                self._problems.add(draft.node.place, f'{what}; expected it last, or "only_if"')
                return
            item = draft.item
            if item and isinstance(item.task, GoTo) and not item.only_if:
                gone = draft.id

    def _needed(self) -> dict[str, list[str]]:
        return {
            one.id: [need.partition("/")[0] for need in one.header.needs or ()]
            for one in self._made.lists.values()
            if one.header
        }

    def _opened(self) -> dict[str, list[str]]:
        """List -> lists it opens before it has asked anything that must be answered."""
        edges: dict[str, list[str]] = {}
        for one in self._made.lists.values():
            edges[one.id] = []
            for draft in one.items():
                if draft.item is None:
                    break
                if isinstance(draft.item.task, GoTo):
                    edges[one.id].append(draft.item.task.list_id)
                elif not draft.item.only_if and "say" not in draft.node.map:
                    break
        return edges

    def _rings(self, verb: str, edges: dict[str, list[str]]) -> None:
        """Note each ring once, at the first of its lists in the file."""
        told: set[str] = set()
        for start in edges:
            ring = _ring_from(start, edges)
            if ring and told.isdisjoint(ring):
                told.update(ring)
                shown = ring if len(ring) <= 6 else [*ring[:5], "..."]
                path = f" {verb} ".join(f'"{name}"' for name in [*shown, ring[0]])
                node = self._made.lists[start].node
                place = node.key or node.place
                asked = " with nothing to answer on the way" if verb == "opens" else ""
                self._problems.add(place, f"a ring of lists: {path}{asked}; expected no ring")


def _ring_from(start: str, edges: dict[str, list[str]]) -> list[str]:
    """The way from `start` back to itself, or [] (rings of one are told elsewhere)."""
    came: dict[str, str] = {}
    todo = [start]
    while todo:
        name = todo.pop()
        for following in edges.get(name, ()):
            if following == start and name != start:
                way = [name]
                while way[-1] != start:
                    way.append(came[way[-1]])
                return way[::-1]
            if following not in came and following != start:
                came[following] = name
                todo.append(following)
    return []
