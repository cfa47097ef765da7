"""A file's tree -> its parts (draft_parts.py), each with what was written and what it became.

Rule of this file: a part that is wrong leaves None behind and its problems in
the collector, so that the rest is still looked at and every problem is told at
once.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist import build, build_duties, build_watch
from callout.checklist.draft_parts import FileDraft, ItemDraft, ListDraft, SectionDraft
from callout.checklist.fields import identifier, slug
from callout.checklist.positions import Node
from callout.checklist.problems import Collector, did_you_mean, listed, quoted
from callout.checklist.schema import (
    KINDS,
    AircraftEntry,
    FileEntry,
    GaugeEntry,
    ItemEntry,
    ListEntry,
    SectionEntry,
    SettingsEntry,
)
from callout.checklist.schema_duties import (
    CoolDownEntry,
    CounterEntry,
    DueEntry,
    ResidualFireEntry,
    RunDownEntry,
)
from callout.checklist.schema_review import OrderEntry
from callout.checklist.schema_watch import StartWatchEntry
from callout.checklist.sentences import shaped

_SEPARATE = (
    *("aircraft", "settings", "gauges", "counters", "due", "order", "lists"),
    *("cool_down", "run_down", "residual_fire", "start_watch"),
)


def draft(node: Node, problems: Collector) -> FileDraft:
    """All parts of the file, as far as they are right; problems noted."""
    made = FileDraft(node)
    head = shaped(FileEntry, node, "this file", problems, skip=_SEPARATE)
    made.engine_states = list(head.engine_states or []) if head else []
    made.reactions = tuple((head.reactions or {}).items()) if head else ()
    _aircraft(made, problems)
    if "settings" in node.map:
        entry = shaped(SettingsEntry, node.map["settings"], "settings", problems)
        made.settings = build.settings(entry) if entry else made.settings
    for gauge_id, part in _entries(node, "gauges", problems):
        gauge = shaped(GaugeEntry, part, f'gauge "{gauge_id}"', problems)
        made.gauges[gauge_id] = (part, build.gauge(gauge_id, gauge) if gauge else None)
    for counter_id, part in _entries(node, "counters", problems):
        counter = shaped(CounterEntry, part, f'counter "{counter_id}"', problems)
        value = build_duties.counter(counter_id, counter) if counter else None
        made.counters[counter_id] = (part, value)
    for due_id, part in _entries(node, "due", problems):
        due = shaped(DueEntry, part, f'due "{due_id}"', problems)
        made.dues[due_id] = (part, build_duties.due(due_id, due) if due else None)
    _timed(made, problems)
    for list_id, part in _entries(node, "lists", problems):
        made.lists[list_id] = _list(list_id, part, problems)
    if not made.lists and "lists" not in node.map:
        problems.add(node.place, 'this file has no "lists"; expected at least one list')
    return made


def _aircraft(made: FileDraft, problems: Collector) -> None:
    node = made.node.map.get("aircraft")
    if node is None:
        problems.add(made.node.place, 'this file has no "aircraft"; expected one')
        return
    made.aircraft = shaped(AircraftEntry, node, "aircraft", problems)
    if made.aircraft:
        made.source = build.source(made.aircraft.limits_from)


def _timed(made: FileDraft, problems: Collector) -> None:
    """What stands beside the lists and has no name of its own, where it is written."""
    parts = made.node.map
    if "cool_down" in parts:
        cool = shaped(CoolDownEntry, parts["cool_down"], "cool_down", problems)
        made.cool_down = build_duties.cool_down(cool) if cool else None
    if "run_down" in parts:
        down = shaped(RunDownEntry, parts["run_down"], "run_down", problems)
        made.run_down = build_duties.run_down(down) if down else None
    if "residual_fire" in parts:
        fire = shaped(ResidualFireEntry, parts["residual_fire"], "residual_fire", problems)
        made.residual_fire = build_duties.residual_fire(fire) if fire else None
    if "start_watch" in parts:
        watch = shaped(StartWatchEntry, parts["start_watch"], "start_watch", problems)
        made.start_watch = build_watch.start_watch(watch) if watch else None
    for part in _sequence(parts["order"], problems) if "order" in parts else ():
        rule = shaped(OrderEntry, part, "this order", problems)
        if rule:
            made.orders.append(build.order(rule))


def _entries(node: Node, key: str, problems: Collector) -> Iterator[tuple[str, Node]]:
    """The named parts below a top key; what is not a mapping of good names is noted."""
    part = node.map.get(key)
    if part is None:
        return
    if not part.map:
        problems.add(part.place, f"found no `name: ...` lines below {key}; expected at least one")
    for name, child in part.map.items():
        _check_name(name, child, problems)
        yield name, child


def _check_name(name: str, node: Node, problems: Collector) -> None:
    try:
        identifier(name)
    except ValueError as error:
        problems.add(node.key or node.place, str(error))


def _list(list_id: str, node: Node, problems: Collector) -> ListDraft:
    what = f'list "{list_id}"'
    header = shaped(ListEntry, node, what, problems, skip=("items", "sections"))
    made = ListDraft(list_id, node, header)
    has_items, has_sections = "items" in node.map, "sections" in node.map
    if has_items and has_sections:
        at = node.map["sections"]
        problems.add(at.key or at.place, f"{what} has items and sections; expected one of them")
    if not has_items and not has_sections:
        problems.add(node.place, f"{what} has no items; expected at least one")
    if has_items:
        made.sections.append(SectionDraft("", _items(node.map["items"], "", problems)))
    if has_sections:
        for part in _sequence(node.map["sections"], problems):
            made.sections.append(_section(part, problems))
    _refuse_twins(made, problems)
    return made


def _section(node: Node, problems: Collector) -> SectionDraft:
    entry = shaped(SectionEntry, node, "this section", problems, skip=("items",))
    name = entry.name if entry else ""
    where = (entry.where if entry else None) or ""
    if "items" not in node.map:
        if node.map:
            problems.add(node.place, "this section has no items; expected at least one")
        return SectionDraft(name)
    return SectionDraft(name, _items(node.map["items"], where, problems))


def _sequence(node: Node, problems: Collector) -> list[Node]:
    if not node.list:
        found = "an empty list" if isinstance(node.value, list) else "no list"
        problems.add(node.place, f"found {found}; expected a list, each entry with a dash")
    return node.list


def _items(node: Node, where: str, problems: Collector) -> list[ItemDraft]:
    return [_item(part, where, problems) for part in _sequence(node, problems)]


def item_id(node: Node) -> str:
    """The id as written, or made from what is said; "" if there is neither."""
    if "id" in node.map:
        return node.map["id"].text
    said = node.map.get("call") or node.map.get("say")
    return slug(" ".join(said.text.split()[:8])) if said else ""


def _item(node: Node, where: str, problems: Collector) -> ItemDraft:
    found_id = item_id(node)
    what = f'item "{found_id}"' if found_id else "this item"
    entry = shaped(ItemEntry, node, what, problems)
    kind = _kind(node, what, problems) if isinstance(node.value, dict) else None
    if entry is None or kind is None or not found_id:
        if entry is not None and kind is not None:
            problems.add(node.place, 'this item needs a name; expected an "id"')
        return ItemDraft(found_id, node, None)
    return ItemDraft(found_id, node, build.item(found_id, kind, entry, where))


def _kind(node: Node, what: str, problems: Collector) -> str | None:
    """The one key that says what the item is; everything that does not fit is noted."""
    kinds = [key for key in node.map if key in KINDS]
    if not kinds:
        odd = next((key for key in node.map if did_you_mean(key, KINDS)), "")
        if not odd or odd in ItemEntry.model_fields:  # else it is named as an unknown key already
            one_of = listed(KINDS)
            problems.add(node.place, f"{what} does not say what to do; expected one of {one_of}")
        return None
    if len(kinds) > 1:
        place = node.map[kinds[1]].key or node.place
        both = listed([f'"{kind}"' for kind in kinds], "and")
        problems.add(place, f"{what} has {both}; expected one of them")
        return None
    kind = kinds[0]
    right = _check_companions(node, kind, what, problems)
    if kind != "say" and "call" not in node.map:
        problems.add(node.place, f'{what} has no "call"; expected the words to read aloud')
        right = False
    return kind if right else None


_NOT_FOR: dict[str, tuple[str, ...]] = {
    "killer": ("say", "go_to", "wait"),
    "look_time": ("say", "go_to", "wait", "await", "choose"),
    "stale_after": ("say", "go_to", "choose"),
    "call": ("say",),
}
"""Keys that need an answer, or something to look at, and the kinds without one."""


def _check_companions(node: Node, kind: str, what: str, problems: Collector) -> bool:
    right = True
    for key, child in node.map.items():
        owners = [owner for owner, companions in KINDS.items() if key in companions]
        place = child.key or child.place
        if owners and kind not in owners:
            said = f"{quoted(key)} belongs to {listed([f'`{owner}`' for owner in owners])}"
            problems.add(place, f"{said}; {what} is of kind `{kind}`")
            right = False
        if kind in _NOT_FOR.get(key, ()):
            problems.add(
                place,
                f"an item of kind `{kind}` takes no {quoted(key)}; expected {what} without it",
            )
            right = False
    return right


def _refuse_twins(made: ListDraft, problems: Collector) -> None:
    seen: dict[str, int] = {}
    for one in made.items():
        if not one.id:
            continue
        if one.id in seen:
            place = one.node.at("id") if "id" in one.node.map else one.node.at("call")
            message = (
                f'item "{one.id}" stands in list "{made.id}" on line {seen[one.id]} already; '
                'expected another call, or an "id" of its own'
            )
            problems.add(place, message)
        seen.setdefault(one.id, one.node.place.line)
