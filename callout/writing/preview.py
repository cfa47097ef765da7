"""A list as it will be: every sentence in its order, what it waits for, and how long.

Rule of this file: values and text. The sentences are the engine's own; how long
each takes to say is measured by whoever has a voice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from callout.checklist.amounts import time_text
from callout.checklist.model import (
    Advise,
    Aircraft,
    Await,
    CheckList,
    GoTo,
    Item,
    ListKind,
    Wait,
    Who,
)
from callout.engine import wording

CAUTIONS = (
    "The aircraft's own handbook rules; these lists are only as right as their author made them.",
    "Nothing here says that it is safe to start, take off or fly.",
)


@dataclass(frozen=True, slots=True)
class Sentence:
    """What is said, and what follows before the next sentence.

    Fields:
        list_id: of which list
        text: as it will be said
        answer: what counts as the answer, for the reader ("" where none is needed)
        waits: seconds of a timed wait behind it
        asks: an answer of a person follows
    """

    list_id: str
    text: str
    answer: str = ""
    waits: float = 0.0
    asks: bool = False


@dataclass(frozen=True, slots=True)
class Length:
    """How long a list takes (s): spoken, answers, timed waits."""

    spoken: float
    answers: float
    waits: float

    @property
    def total(self) -> float:
        """All of it."""
        return self.spoken + self.answers + self.waits

    def __add__(self, other: Length) -> Length:
        """Both, one after the other."""
        return Length(
            self.spoken + other.spoken, self.answers + other.answers, self.waits + other.waits
        )

    def __str__(self) -> str:
        """For people."""
        parts = (("spoken", self.spoken), ("answers", self.answers), ("timed waits", self.waits))
        told = ", ".join(f"{name} {time_text(round(part))}" for name, part in parts if part)
        return f"{time_text(round(self.total))} ({told})"


def chosen(aircraft: Aircraft, lists: Iterable[str]) -> tuple[CheckList, ...]:
    """The lists of these ids; without any, the whole flying day.  KeyError for an unknown one."""
    wanted = tuple(lists)
    if wanted:
        return tuple(aircraft.list(one) for one in wanted)
    return tuple(one for one in aircraft.lists if one.kind is ListKind.NORMAL)


def sentences(aircraft: Aircraft, lists: Iterable[CheckList]) -> Iterator[Sentence]:
    """All that is said, every way of a choice included."""
    for one in lists:
        yield Sentence(one.id, wording.sentence(one.title))
        for at, item in enumerate(one.items()):
            if place := wording.place(one, at):
                yield Sentence(one.id, place)
            yield _item(aircraft, one, item)
        yield Sentence(one.id, wording.complete(one))


def _item(aircraft: Aircraft, one: CheckList, item: Item) -> Sentence:
    text = wording.prompt(aircraft, item)
    if isinstance(item.task, Wait):
        return Sentence(one.id, text, waits=item.task.seconds)
    if isinstance(item.task, Advise | GoTo):
        return Sentence(one.id, text)
    return Sentence(one.id, text, wording.answer_wanted(aircraft, item), asks=True)


def length(said: Iterable[Sentence], seconds: Callable[[str], float], answer: float) -> Length:
    """How long these take, with so many seconds for each answer."""
    total = Length(0.0, 0.0, 0.0)
    for one in said:
        total += Length(seconds(one.text), answer if one.asks else 0.0, one.waits)
    return total


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: number, part of the list, call, answer, notes."""

    number: int
    place: str
    call: str
    answer: str
    notes: str


def rows(aircraft: Aircraft, one: CheckList) -> Iterator[Row]:
    """A list as it is printed."""
    for at, item in enumerate(one.items()):
        place = wording.place(one, at).rstrip(".")
        yield Row(at + 1, place, item.call, _answer(aircraft, item), ", ".join(_notes(item)))


def _answer(aircraft: Aircraft, item: Item) -> str:
    if isinstance(item.task, Wait):
        return f"wait {time_text(item.task.seconds)}"
    if isinstance(item.task, GoTo):
        return f"go to {aircraft.list(item.task.list_id).title}"
    if isinstance(item.task, Advise):
        return ""
    return wording.answer_wanted(aircraft, item)


def _notes(item: Item) -> Iterator[str]:
    if item.killer:
        yield "KILLER"
    if item.who is Who.HELPER:
        yield "helper"
    yield from (f"only if {only.choice} is {only.option}" for only in item.only_if)
    if item.stale_after is not None:
        yield f"again after {time_text(item.stale_after)}"
    if isinstance(item.task, Await) and item.task.missed:
        yield f"else {item.task.missed}"


def paper(aircraft: Aircraft, lists: Iterable[CheckList], lengths: dict[str, str]) -> str:
    """A page that prints: one list after the other, none cut in two where it fits."""
    from callout.reports.page import render

    told = [(one.title, list(rows(aircraft, one)), lengths.get(one.id, "")) for one in lists]
    return render("paper.html", "callout.writing", a=aircraft, lists=told, cautions=CAUTIONS)
