"""Every item of a session's lists: what was asked, answered, and how long it took.

Rule of this file: a fold over the facts, in their order; a list that was opened
twice stands there twice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from callout.engine.effects import Record
from callout.reports.names import Names, clock
from callout.reports.values import ItemRow, ListPart

_REMARKS = {
    "wrong answer": "wrong answer: {words}",
    "quick answer": "too quick: {words} after {latency}\u00a0s",
    "not understood": "not understood ({why}): {guess}",
    "impossible value": "the gauge cannot show: {words}",
    "doubtful value": "could be two values: {words}",
    "value denied": "value denied",
    "not confirmed": "not confirmed: {words}",
    "refused": "refused: {words} ({why})",
    "blocked": "waited for the cool-down",
    "key too soon": "key too soon",
    "late": "came too late: {words}",
    "no answer": "no answer",
    "time missed": "not in time",
    "overridden": "reason: {reason}",
    "reopened": "done again: {why}",
}
"""Fact about an item -> what is printed beside it."""

_STATES = {"deferred": "deferred", "skipped": "skipped", "overridden": "overridden"}

_MAKE = {"asked", "ticked", *_STATES}
"""Facts that say that an item was come to."""


@dataclass
class _Item:
    """One row on its way."""

    call: str
    asked: float | None = None
    answered: float | None = None
    answer: str = ""
    state: str = "open"
    data: dict[str, str] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)

    def row(self) -> ItemRow:
        """As it is printed."""
        took = ""
        if self.asked is not None and self.answered is not None:
            took = f"{self.answered - self.asked:.1f}"
        reacted = self.data.get("latency", "")
        return ItemRow(
            call=self.call,
            answer=self.answer,
            state=self.state,
            who=self.data.get("who", ""),
            by=_by(self.data),
            asked="" if self.asked is None else clock(self.asked),
            answered="" if self.answered is None else clock(self.answered),
            took=took,
            reacted=f"{float(reacted):.1f}" if reacted else "",
            remarks=tuple(self.remarks),
        )


def _by(data: dict[str, str]) -> str:
    """What took the answer; an event of the engine's own in words."""
    words = {"Reading": "gauge", "SpeechEnded": "said to its end", "Clock": "time", "keys": "typed"}
    by = data.get("by", "")
    return words.get(by, by)


@dataclass
class _Part:
    """A list on its way."""

    list_id: str
    began: float
    ended: float | None = None
    outcome: str = ""
    items: dict[str, _Item] = field(default_factory=dict)


@dataclass
class _Lists:
    """All lists on their way."""

    names: Names
    parts: list[_Part] = field(default_factory=list)

    def take(self, at: float, fact: Record) -> None:
        """One fact."""
        list_id, _, item_id = fact.about.partition("/")
        if fact.fact == "list opened":
            self.parts.append(_Part(list_id, at))
            return
        part = next((one for one in reversed(self.parts) if one.list_id == list_id), None)
        if part is None:
            return
        if fact.fact.startswith("list "):
            self._closed(part, at, fact)
        elif item_id:
            self._item(part, fact.about, at, fact)

    def _closed(self, part: _Part, at: float, fact: Record) -> None:
        part.ended, part.outcome = at, fact.fact.removeprefix("list ")
        for name in filter(None, dict(fact.data).get("open", "").split("; ")):
            self._of(part, f"{part.list_id}/{name}")

    def _of(self, part: _Part, path: str) -> _Item:
        return part.items.setdefault(path, _Item(self.names.item(path)))

    def _item(self, part: _Part, path: str, at: float, fact: Record) -> None:
        if path not in part.items and fact.fact not in _MAKE:
            return  # a limit or a counter that names the item in hand
        one, data = self._of(part, path), dict(fact.data)
        if fact.fact == "asked":
            if one.asked is None or one.state in ("answered", "deferred"):
                one.asked = at
        elif fact.fact == "ticked":
            found = self.names.gauge_of(path)
            one.answer = data.get("answer", "")
            if found is not None:
                one.answer = self.names.amount(one.answer, found[0].id)
            one.state, one.answered, one.data = "answered", at, data
        elif fact.fact == "reopened":
            one.state, one.answer, one.answered, one.data = "open", "", None, {}
        elif fact.fact in _STATES:
            one.state = _STATES[fact.fact]
        if fact.fact in _REMARKS:
            one.remarks.append(_REMARKS[fact.fact].format_map(_Blank(data)))


class _Blank(dict[str, str]):
    """A fact of an older callout may lack a detail: it is left out."""

    def __missing__(self, key: str) -> str:
        return ""


def lists(names: Names, facts: Iterable[tuple[float, Record]]) -> tuple[ListPart, ...]:
    """Every list that was opened, in order."""
    made = _Lists(names)
    for at, fact in facts:
        made.take(at, fact)
    return tuple(
        ListPart(
            names.list(part.list_id),
            clock(part.began),
            "" if part.ended is None else clock(part.ended),
            part.outcome,
            tuple(item.row() for item in part.items.values()),
        )
        for part in made.parts
    )
