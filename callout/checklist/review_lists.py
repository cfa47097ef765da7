"""Findings about a list as a whole: its length, its way, its aborts, its end.

Rule of this file: as review_items.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from callout.checklist import review_words as words
from callout.checklist.model import (
    Advise,
    Await,
    Choose,
    GoTo,
    ListKind,
    Wait,
    Who,
)
from callout.checklist.problems import listed, quoted
from callout.checklist.review_model import Line, Note, Scene, Written
from callout.words.normal import normalise

MOST_ITEMS = 9
"""Items that one part of a list may have (a design target of our own, from J3/A7)."""
FEW = 6
"""Items below which nothing is late."""
MOST_BY_HEART = 4
"""Items of an emergency that may have to be known by heart."""


def long_list(scene: Scene) -> Iterator[Note]:
    """Parts with more than nine items."""
    for one in scene.lists:
        for lines in one.sections():
            if len(lines) > MOST_ITEMS:
                name = one.checklist.sections[lines[0].section].name
                where = f"the part {quoted(name)}" if name else f"list {quoted(one.checklist.id)}"
                what = f"{where} has {len(lines)} items in one piece"
                change = f"`sections`, each with a name and at most {MOST_ITEMS} items"
                yield Note(lines[0].place(), what, change, (one.node,))


def killer_late(scene: Scene) -> Iterator[Note]:
    """A killer item in the last third of what can be asked at once, and not asked earlier."""
    for one in scene.days():
        for block in _blocks(one):
            for at, line in enumerate(block):
                late = line.item.killer and len(block) >= FEW and at * 3 >= len(block) * 2
                if late and any(not other.item.killer for other in block[:at]):
                    if _repeated(scene, line):
                        continue
                    title = one.checklist.title
                    what = f"the killer item {quoted(line.item.call)} comes late in {title}"
                    change = "further up, or once more before it matters"
                    yield Note(line.place(), what, change, line.scopes)


def _blocks(one: Written) -> Iterator[list[Line]]:
    """Items that could change places: nothing between them changes the machine, or the station."""
    block: list[Line] = []
    for line in one.lines:
        if block and line.item.where != block[-1].item.where:
            yield block
            block = []
        block.append(line)
        if isinstance(line.item.task, Await | Wait | GoTo | Choose):
            yield block
            block = []
    yield block


def _repeated(scene: Scene, line: Line) -> bool:
    return any(
        other.call == line.call and set(other.answers) & set(line.answers)
        for other in scene.lines()
        if other.node is not line.node and other.checklist.kind is ListKind.NORMAL
    )


def back_and_forth(scene: Scene) -> Iterator[Note]:
    """A station that was left and is visited again in the same list."""
    for one in scene.lists:
        seen: list[str] = []
        here = ""
        for line in one.lines:
            where = line.item.where
            if not where or where == here or line.item.who is Who.HELPER:
                continue
            if where in seen:
                what = f"{quoted(where)} was left for {quoted(here)} and is visited again"
                change = f"with the other items of {quoted(where)}"
                yield Note(line.place(), what, change, line.scopes)
            seen.append(where)
            here = where


def no_abort(scene: Scene) -> Iterator[Note]:
    """A list with the engine turning that nothing breaks off."""
    for one in scene.days():
        turning = one.checklist.engine_state != "any" or _is_start(one)
        if turning and not one.checklist.abort:
            what = f"there is nothing that the word abort opens in {quoted(one.checklist.title)}"
            change = "`abort: ` and the list that makes the machine safe"
            yield Note(one.place(), what, change, (one.node,))


def _is_start(one: Written) -> bool:
    title = normalise(one.checklist.title)
    return title in ("start", "engine start", "engine starting", "starting")


def by_heart(scene: Scene) -> Iterator[Note]:
    """An abort or emergency list whose first part cannot be remembered."""
    for one in scene.lists:
        if one.normal:
            continue
        lines = _memory_part(one)
        if len(lines) > MOST_BY_HEART:
            what = f"{len(lines)} items of {quoted(one.checklist.title)} are to be known by heart"
            change = f"at most {MOST_BY_HEART}; the others can be read aloud after them"
            yield Note(lines[MOST_BY_HEART].place(), what, change, (one.node,))


def _memory_part(one: Written) -> Sequence[Line]:
    """The section that is called so, or the killer items at the beginning."""
    for at, section in enumerate(one.checklist.sections):
        if {"memory", "heart"} & set(section.name.split()):
            return one.sections()[at]
    killers = 0
    for line in one.lines:
        if not line.item.killer:
            break
        killers += 1
    return one.lines[:killers]


def no_completion(scene: Scene) -> Iterator[Note]:
    """A list that is never called complete, or whose completion says nothing."""
    for one in scene.lists:
        last = one.lines[-1]
        if one.normal and not one.checklist.needs and not any(map(_asked, one.lines)):
            what = f"{quoted(one.checklist.title)} is complete without one answer"
            yield Note(one.place(), what, "one item at least that is answered", (one.node,))
        elif not one.normal and isinstance(last.item.task, Wait | Await) and not _says_end(one):
            what = f"{quoted(one.checklist.title)} ends with a wait and does not say what then"
            yield Note(last.place(), what, "a last item that tells what then holds", last.scopes)


def _asked(line: Line) -> bool:
    return not isinstance(line.item.task, Advise | GoTo)


def _says_end(one: Written) -> bool:
    return isinstance(one.lines[-1].item.task, Advise)


def no_engine_state(scene: Scene) -> Iterator[Note]:
    """A list with the engine turning that watches no limit but those for always."""
    by_state = {
        gauge.call
        for gauge in scene.aircraft.gauges
        if any(limit.state != "any" for limit in gauge.limits)
    }
    for one in scene.days():
        if by_state and one.checklist.engine_state == "any" and _engine_turns(scene, one):
            gauges = sorted(by_state)
            shown = listed(gauges[:3], "and") + (" and others" if len(gauges) > 3 else "")
            what = f"{quoted(one.checklist.title)} has no engine_state: limits of {shown} are off"
            change = f"`engine_state: ` and one of {listed(_states(scene))}"
            yield Note(one.place(), what, change, (one.node,))


def _states(scene: Scene) -> list[str]:
    limits = (limit for gauge in scene.aircraft.gauges for limit in gauge.limits)
    return list(dict.fromkeys(limit.state for limit in limits if limit.state != "any"))


def _engine_turns(scene: Scene, one: Written) -> bool:
    """By its title, or because it stands between two lists that say so."""
    title = f"{normalise(one.checklist.title)} {normalise(one.checklist.id)}"
    if any(word in title for word in words.STANDS_TITLES):
        return False
    if "down" in title and "cool" not in title:
        return False  # it stops in this one
    days = scene.days()
    at = days.index(one)
    before = any(other.checklist.engine_state != "any" for other in days[:at])
    after = any(other.checklist.engine_state != "any" for other in days[at + 1 :])
    return (before and after) or any(f" {word}" in f" {title}" for word in words.RUNS)


def start_unguarded(scene: Scene) -> Iterator[Note]:
    """A start that opens without a look around, or without an extinguisher at hand."""
    for one in scene.days():
        if not (_is_start(one) or one.checklist.engine_state == "start"):
            continue
        before = [*_needed(scene, one), *one.lines]
        for name, things in (("the area around", words.AREA), ("an extinguisher", words.GUARD)):
            if not any(words.speaks_of(line.call, things) for line in before):
                what = f"{quoted(one.checklist.title)} can open without {name}"
                change = f"an item for {name} in this list, or in one that it `needs`"
                yield Note(one.place(), what, change, (one.node,))


def _needed(scene: Scene, one: Written) -> list[Line]:
    """The items of all lists that must be done before, and before those."""
    by_id = {other.checklist.id: other for other in scene.lists}
    todo, done = [one.checklist.id], set()
    while todo:
        name = todo.pop()
        if name not in done:
            done.add(name)
            todo += [need.list_id for need in by_id[name].checklist.needs]
    done.discard(one.checklist.id)
    return [line for name in done for line in by_id[name].lines]
