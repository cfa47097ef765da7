"""Findings about the order of items that the machine itself wants.

Rule of this file: as review_items.py. Two orders are known here, for which a
source is given; the owner declares the others under `order`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from callout.checklist import review_words as words
from callout.checklist.model import Await, ListKind
from callout.checklist.order import OrderRule, Step
from callout.checklist.problems import quoted
from callout.checklist.review_model import Line, Note, Scene
from callout.words.normal import normalise


def declared(scene: Scene) -> Iterator[Note]:
    """Every order of the file."""
    for rule in scene.aircraft.orders:
        for lines in _sequences(scene, rule):
            yield from _broken(lines, rule, whole=bool(rule.lists))


def _sequences(scene: Scene, rule: OrderRule) -> Iterator[Sequence[Line]]:
    by_id = {one.checklist.id: one.lines for one in scene.lists}
    if rule.lists:
        yield [line for name in rule.lists for line in by_id[name]]
    else:
        yield from by_id.values()


def _broken(lines: Sequence[Line], rule: OrderRule, *, whole: bool) -> Iterator[Note]:
    """Each `then` that no `first` comes before, if there is one or must be one."""
    firsts = [at for at, line in enumerate(lines) if _is(line, rule.first)]
    for at, line in enumerate(lines):
        early = _is(line, rule.then) and not any(first < at for first in firsts)
        if early and (firsts or whole):
            what = f"{_name(rule.then)} comes before {_name(rule.first)}"
            if not firsts:
                what = f"{_name(rule.then)} comes, and {_name(rule.first)} nowhere before it"
            reason = f" ({rule.why})" if rule.why else ""
            change = f"{_name(rule.first)} before it{reason}"
            yield Note(line.place(), what, change, line.scopes)


def _is(line: Line, step: Step) -> bool:
    if line.call != normalise(step.call):
        return False
    return not step.answer or normalise(step.answer) in line.answers


def _name(step: Step) -> str:
    return quoted(f"{step.call}, {step.answer}" if step.answer else step.call)


def pump_before_fuel(scene: Scene) -> Iterator[Note]:
    """The pump stopped while fuel still flows."""
    for one in scene.lists:
        yield from _swapped(one.lines, _pump_off, _fuel_off, "the fuel is shut off")


def battery_before_rest(scene: Scene) -> Iterator[Note]:
    """The battery off while the rotor still turns: no gauge and no starter is left."""
    for one in scene.lists:
        if one.checklist.kind is not ListKind.NORMAL:
            yield from _swapped(one.lines, _battery_off, _at_rest, "it stands still")
    yield from _swapped(_after_shutdown(scene), _battery_off, _at_rest, "it stands still")


def _after_shutdown(scene: Scene) -> Sequence[Line]:
    """The flying day from the last time the fuel is shut off."""
    lines = [line for one in scene.days() for line in one.lines]
    last = max((at for at, line in enumerate(lines) if _fuel_off(line)), default=len(lines))
    return lines[last + 1 :]


def _swapped(
    lines: Sequence[Line],
    early: Callable[[Line], bool],
    due: Callable[[Line], bool],
    what: str,
) -> Iterator[Note]:
    """Items found before the one that they should come after."""
    last = max((at for at, line in enumerate(lines) if due(line)), default=-1)
    first = next((at for at, line in enumerate(lines) if due(line)), -1)
    for line in lines[: max(first, 0)]:
        if early(line):
            waits = quoted(lines[last].item.call)
            found = f"{quoted(line.item.call)} comes before {what}: {waits}"
            yield Note(line.place(), found, f"after {waits}", line.scopes)


def _off(line: Line, things: frozenset[str], states: frozenset[str]) -> bool:
    if not words.names(line.call, things):
        return False
    return any(answer in states or set(answer.split()) & states for answer in line.answers)


def _pump_off(line: Line) -> bool:
    return _off(line, words.PUMP, words.OFF)


def _fuel_off(line: Line) -> bool:
    return _off(line, words.FUEL, words.OFF)


def _battery_off(line: Line) -> bool:
    return _off(line, words.BATTERY, words.OFF)


def _at_rest(line: Line) -> bool:
    """A rotor that is seen to stand, or whose speed is awaited to be nothing."""
    task = line.item.task
    if isinstance(task, Await):
        return task.condition.band.at_most == 0
    still = words.names(line.call, words.STANDSTILL)
    return still and any(answer in words.STANDS for answer in line.answers)
