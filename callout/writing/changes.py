"""What differs between two aircraft files, in words that a pilot cares about.

Rule of this file: it compares facts (facts.py) part by part; items are known by
their id, and what stands elsewhere in its list is told as moved.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from difflib import SequenceMatcher

from callout.checklist.model import Aircraft, CheckList, Gauge, Item
from callout.writing import facts
from callout.writing.facts import Facts

_TOLD_ELSEWHERE = frozenset(
    ("name", "revision", "written_by", "limits_from", "notice", "lists", "gauges")
)
BESIDE = tuple(one.name for one in fields(Aircraft) if one.name not in _TOLD_ELSEWHERE)
"""Parts that are told by the names of their fields."""


@dataclass(frozen=True, slots=True)
class Change:
    """One difference: the part it belongs to (a list's title, a gauge ...) and a sentence."""

    part: str
    what: str


def changes(old: Aircraft, new: Aircraft) -> tuple[Change, ...]:
    """Everything that differs, lists first."""
    found: list[Change] = []
    found += _changed("aircraft", _head(old), _head(new))
    found += _lists(old, new)
    found += _gauges(old, new)
    for part in BESIDE:
        name = part.replace("_", " ")
        before = facts.plain(getattr(old, part), name)
        found += _changed(name, before, facts.plain(getattr(new, part), name), whole=name)
    return tuple(found)


def _head(one: Aircraft) -> Facts:
    source = facts.plain(one.limits_from, "limits from")
    return {
        "name": one.name,
        "revision": one.revision,
        "written by": one.written_by,
        **source,
        **({"notice": one.notice} if one.notice else {}),
    }


def _changed(part: str, old: Facts, new: Facts, name: str = "", whole: str = "") -> list[Change]:
    """Label by label: was, is now."""
    front = f"{name}: " if name else ""
    if whole and not (old and new):
        return [Change(part, f"{whole} is {'new' if new else 'gone'}")] if old or new else []
    told = []
    for label in dict.fromkeys([*old, *new]):
        before, after = old.get(label), new.get(label)
        if before == after:
            continue
        if before is None:
            told.append(Change(part, f"{front}{label}: new, {_shown(after)}"))
        elif after is None:
            told.append(Change(part, f"{front}{label}: gone, was {_shown(before)}"))
        else:
            told.append(Change(part, f"{front}{label}: was {_shown(before)}, is {_shown(after)}"))
    return told


def _shown(text: str | None) -> str:
    return f'"{text}"'


def _lists(old: Aircraft, new: Aircraft) -> Iterator[Change]:
    before = {one.id: one for one in old.lists}
    after = {one.id: one for one in new.lists}
    for gone in before.keys() - after.keys():
        yield Change(before[gone].title, "the list is gone")
    for one in new.lists:
        if one.id not in before:
            count = sum(1 for _ in one.items())
            yield Change(one.title, f"a new list of {count} items")
        else:
            yield from _list(old, new, before[one.id], one)
    for name in _moved([*before], [*after]):
        yield Change(after[name].title, f"the list now stands {_after(name, [*after])}")


def _list(old: Aircraft, new: Aircraft, was: CheckList, now: CheckList) -> Iterator[Change]:
    yield from _changed(now.title, facts.checklist(was), facts.checklist(now))
    before = {item.id: item for item in was.items()}
    after = {item.id: item for item in now.items()}
    for gone in [name for name in before if name not in after]:
        yield Change(now.title, f"gone: {_told(old, before[gone])}")
    for name, item in after.items():
        if name not in before:
            place = _after(name, [*after], after)
            yield Change(now.title, f"new: {_told(new, item)}, {place}")
        else:
            was_told, now_told = facts.item(old, before[name]), facts.item(new, item)
            yield from _changed(now.title, was_told, now_told, item.call)
    for name in _moved([*before], [*after]):
        yield Change(now.title, f"moved: {after[name].call}, now {_after(name, [*after], after)}")
    yield from _parts(was, now)


def _parts(was: CheckList, now: CheckList) -> Iterator[Change]:
    """Items that stand in another part of the list, where nothing else was said of it."""
    old, new = (
        {item.id: part.name for part in one.sections for item in part.items} for one in (was, now)
    )
    names = {item.id: item.call for item in now.items()}
    for name in new:
        if name in old and old[name] != new[name] and old[name] in new.values():
            yield Change(now.title, f'{names[name]}: now in part "{new[name]}"')


def _told(aircraft: Aircraft, item: Item) -> str:
    told = facts.item(aircraft, item)
    shown = [told["call"], *(told[key] for key in ("answer", "accepted", "wait") if key in told)]
    return " - ".join(shown) + (" (killer item)" if item.killer else "")


def _moved(old: list[str], new: list[str]) -> list[str]:
    """Names that stand in another order, as few as explain it."""
    kept_old = [name for name in old if name in new]
    kept_new = [name for name in new if name in old]
    matcher = SequenceMatcher(a=kept_old, b=kept_new, autojunk=False)
    same = {
        kept_new[at]
        for block in matcher.get_matching_blocks()
        for at in range(block.b, block.b + block.size)
    }
    return [name for name in kept_new if name not in same]


def _after(name: str, order: list[str], items: Mapping[str, Item] | None = None) -> str:
    at = order.index(name)
    if at == 0:
        return "first"
    before = order[at - 1]
    return f"after {items[before].call if items else before}"


def _gauges(old: Aircraft, new: Aircraft) -> Iterator[Change]:
    before = {one.id: one for one in old.gauges}
    after = {one.id: one for one in new.gauges}
    for gone in [name for name in before if name not in after]:
        yield Change(before[gone].call, "the gauge is gone, and its limits with it")
    for name, one in after.items():
        if name not in before:
            yield Change(one.call, "a new gauge")
            yield from _limits(None, one)
        else:
            yield from _changed(one.call, facts.gauge(before[name]), facts.gauge(one))
            yield from _limits(before[name], one)


def _limits(was: Gauge | None, now: Gauge) -> Iterable[Change]:
    old = {one.state: facts.limit(one, was.unit) for one in was.limits} if was else {}
    new = {one.state: facts.limit(one, now.unit) for one in now.limits}
    for state in dict.fromkeys([*old, *new]):
        name = "always" if state == "any" else state
        yield from _changed(now.call, old.get(state, {}), new.get(state, {}), f"limits, {name}")
