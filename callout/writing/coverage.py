"""What of a file was never used: items not reached, ways not taken, limits not tested, answers.

Rule of this file: it compares a file with facts, from a logbook or from days on
paper; it decides nothing. An old session names items by their keys, so what was
renamed since counts as not reached.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from callout.checklist.model import Aircraft, Ask, Await, Choose, ListKind
from callout.engine.effects import Record
from callout.words.normal import normalise

LIMIT_FACTS = ("limit passed", "limit ahead", "refused", "caution")
"""Facts that show that a limit did its work."""


@dataclass(frozen=True, slots=True)
class Unused:
    """One thing that was never used: kind, where ("list/item" or gauge), and what."""

    kind: str
    where: str
    what: str


@dataclass(frozen=True, slots=True)
class Coverage:
    """What was used of how much, and what never was.

    Fields:
        counts: kind -> (used, all)
    """

    counts: tuple[tuple[str, int, int], ...]
    unused: tuple[Unused, ...]


def coverage(aircraft: Aircraft, facts: Iterable[Record]) -> Coverage:
    """Every kind of use, from all facts together."""
    seen = _Seen(facts)
    counts, unused = [], []
    for kind, rows in (
        ("items reached", _items(aircraft, seen)),
        ("branches taken", _branches(aircraft, seen)),
        ("limits tested", _limits(aircraft, seen)),
        ("answers used", _answers(aircraft, seen)),
    ):
        told = list(rows)
        counts.append((kind, sum(used for used, _, _ in told), len(told)))
        unused += [Unused(kind, where, what) for used, where, what in told if not used]
    return Coverage(tuple(counts), tuple(unused))


class _Seen:
    """Facts, by what is asked of them."""

    def __init__(self, facts: Iterable[Record]) -> None:
        self.asked: set[str] = set()
        self.opened: set[str] = set()
        self.answers: set[tuple[str, str]] = set()
        self.ways: set[tuple[str, str]] = set()
        self.limits: set[tuple[str, str]] = set()
        for fact in facts:
            data = dict(fact.data)
            if fact.fact == "asked":
                self.asked.add(fact.about)
            elif fact.fact == "list opened":
                self.opened.add(fact.about)
            elif fact.fact == "ticked":
                # "answer" is the printed one, "words" what was said of all that count.
                said = data.get("words") or data.get("answer", "")
                self.answers |= {(fact.about, normalise(said))}
                self.ways.add((fact.about, data.get("answer", "")))
            if fact.fact in LIMIT_FACTS:
                self.limits.add((data.get("gauge", ""), data.get("kind", "")))


_Row = tuple[bool, str, str]


def _items(aircraft: Aircraft, seen: _Seen) -> Iterator[_Row]:
    for one in aircraft.lists:
        for item in one.items():
            path = f"{one.id}/{item.id}"
            yield path in seen.asked, path, item.call


def _branches(aircraft: Aircraft, seen: _Seen) -> Iterator[_Row]:
    for one in aircraft.lists:
        if one.kind is not ListKind.NORMAL:
            yield one.id in seen.opened, one.id, f"{one.title} was never opened"
        for item in one.items():
            path = f"{one.id}/{item.id}"
            if isinstance(item.task, Choose):
                for option in item.task.options:
                    taken = (path, option.id) in seen.ways
                    yield taken, path, f"the way {option.id}"
            elif isinstance(item.task, Await) and item.task.missed:
                yield item.task.missed in seen.opened, path, f"missed: {item.task.missed}"


def _limits(aircraft: Aircraft, seen: _Seen) -> Iterator[_Row]:
    gauges = {gauge for gauge, _ in seen.limits}
    for gauge in aircraft.gauges:
        for limit in gauge.limits:
            state = "always" if limit.state == "any" else limit.state
            yield gauge.id in gauges, gauge.id, f"no limit of it was ever passed ({state})"


def _answers(aircraft: Aircraft, seen: _Seen) -> Iterator[_Row]:
    for one in aircraft.lists:
        for item in one.items():
            path = f"{one.id}/{item.id}"
            if isinstance(item.task, Ask):
                for answer in item.task.answers:
                    yield (path, normalise(answer)) in seen.answers, path, f'"{answer}"'
