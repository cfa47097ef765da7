"""Lines of a drill file -> lines of a drill.

Rule of this file: as build.py. A line comes after the one before it unless it says
otherwise, and only after lines that stand above it, so that no ring can be written.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from callout.checklist.model import Ask, Await, Choose, Item
from callout.checklist.positions import Node
from callout.checklist.problems import Place, did_you_mean, quoted
from callout.engine.wording import sentence
from callout.trainer.build import Parts, bounded
from callout.trainer.model import PEOPLE, Line, Sight, Speaker, Window, Wrong
from callout.trainer.scene import CONTROLS
from callout.trainer.schema import SPEAKERS, LineEntry
from callout.trainer.signals import SIGNALS
from callout.words.normal import normalise

_GAUGE = re.compile(r"\{([^{}]*)\}")


class _Maker:
    """Makes lines one after the other; `before` are the ids that the next one follows."""

    def __init__(self, parts: Parts) -> None:
        self.parts = parts
        self.made: list[Line] = []
        self.parts_of: dict[str, tuple[str, ...]] = {}
        self.before: tuple[str, ...] = ()

    def take(self, entry: LineEntry, node: Node, number: int) -> None:
        """Make the line, or two of one that needs both."""
        given = [key for key in SPEAKERS if key in node.map]
        if len(given) != 1:
            found = f"the keys {' and '.join(given)} stand here" if given else "nobody says this"
            self.parts.problems.add(node.place, f"{found}; expected one of {', '.join(SPEAKERS)}")
            return
        name = entry.id or f"line-{number}"
        if name in self.parts_of:
            self.parts.problems.add(
                node.at("id"), f"there is a line {quoted(name)} already; expected another name"
            )
        after = self._after(entry, node)
        if entry.both is not None:
            both = {Speaker.PILOT: entry.both.pilot, Speaker.HELPER: entry.both.helper}
            for who, words in both.items():
                line_id = f"{name}-{who.value}"
                self.made.append(self._line(entry, node, line_id, who, words, after, pair=name))
            self.before = tuple(f"{name}-{who.value}" for who in both)
        else:
            who = Speaker(given[0])
            words = list(getattr(entry, given[0])) if who in PEOPLE else []
            self.made.append(self._line(entry, node, name, who, words, after))
            self.before = (name,)
        self.parts_of[name] = self.before

    def _after(self, entry: LineEntry, node: Node) -> tuple[str, ...]:
        if entry.after is None:
            return self.before
        found: list[str] = []
        for at, name in enumerate(entry.after):
            if name not in self.parts_of:
                what = f"no line above is named {quoted(name)}"
                place = node.map["after"].at(at)
                self.parts.problems.add(place, what + did_you_mean(name, self.parts_of))
            found += self.parts_of.get(name, ())
        return tuple(found)

    def _line(
        self, entry: LineEntry, node: Node, name: str, who: Speaker, words: list[str],
        after: tuple[str, ...], pair: str = "",
    ) -> Line:  # fmt: skip
        item = self._item(entry, node, words)
        self._check_signal(entry, node)
        for control, value in (entry.does or {}).items():
            bounded(self.parts, control, (value,), node.at("does", control))
            if control not in CONTROLS and who is not Speaker.SITUATION:
                what = f'"{control}" is no control of the aircraft'
                self.parts.problems.add(
                    node.at("does", control), f"{what}; expected it with a situation"
                )
        critical = bool(entry.critical)
        return Line(
            id=name,
            who=who,
            say=self._say(entry, node, who, words),
            words=tuple(normalise(one) for one in words),
            after=after,
            delay=self._time(entry.delay, node.at("delay")),
            when=self._when(entry, node),
            facts=tuple((entry.while_ or {}).items()),
            within=self._within(entry, node),
            points=entry.points or (3 if critical else 1),
            critical=critical,
            why=entry.why or (item.why if item is not None else ""),
            wrong=self._wrong(entry, item),
            does=tuple((entry.does or {}).items()),
            pair=pair,
            item=entry.item or "",
            signal=entry.signal or "",
        )

    def _item(self, entry: LineEntry, node: Node, words: list[str]) -> Item | None:
        """The item that it answers; its words must be an answer of the item."""
        if entry.item is None:
            return None
        item = self.parts.item(entry.item, node.at("item"))
        answers = _answers(item) if item is not None else ()
        if words and answers and not any(_ends_with(word, answers) for word in words):
            what = f"the item {quoted(entry.item)} is not answered by {quoted(words[0])}"
            self.parts.problems.add(node.at("item"), f"{what}; expected {quoted(answers[0])}")
        return item

    def _check_signal(self, entry: LineEntry, node: Node) -> None:
        if entry.signal is not None and entry.signal not in SIGNALS:
            what = f"there is no hand signal {quoted(entry.signal)}"
            self.parts.problems.add(node.at("signal"), what + did_you_mean(entry.signal, SIGNALS))

    def _say(self, entry: LineEntry, node: Node, who: Speaker, words: list[str]) -> str:
        text = entry.say or entry.situation or entry.gauges or (words[0] if words else "")
        key = "say" if entry.say else who.value
        for name in _GAUGE.findall(text):
            self.parts.gauge(name, node.at(key))
        return sentence(text)

    def _when(self, entry: LineEntry, node: Node) -> Sight | None:
        when = entry.when
        if when is None:
            return None
        place = node.map["when"]
        self.parts.gauge(when.gauge, place.at("gauge"))
        if when.at_least is None and when.at_most is None:
            self.parts.problems.add(
                place.place, "nothing is said of the gauge; expected at_least or at_most"
            )
        low, high = when.at_least, when.at_most
        held = self._time(when.for_, place.at("for"))
        return Sight(
            when.gauge,
            None if low is None else self.parts.figure(low, place.at("at_least")),
            None if high is None else self.parts.figure(high, place.at("at_most")),
            held,
        )

    def _time(self, given: str | None, place: Place) -> float:
        return self.parts.window(given, place).seconds if given else 0.0

    def _within(self, entry: LineEntry, node: Node) -> Window:
        if entry.within is None:
            return Window(self.parts.times["settings/answer_time"], "settings/answer_time")
        return self.parts.window(entry.within, node.at("within"))

    @staticmethod
    def _wrong(entry: LineEntry, item: Item | None) -> tuple[Wrong, ...]:
        own = tuple(
            Wrong(tuple(normalise(word) for word in one.words), sentence(one.because))
            for one in entry.wrong or ()
        )
        if item is None or not isinstance(item.task, Ask) or not item.task.wrong:
            return own
        words = tuple(f"{normalise(item.call)} {normalise(word)}" for word in item.task.wrong)
        because = sentence(f"{item.call}: {item.task.answers[0]}, says the list")
        return (*own, Wrong(words, because))


def _answers(item: Item) -> tuple[str, ...]:
    task = item.task
    if isinstance(task, Ask):
        return task.answers
    if isinstance(task, Choose):
        return tuple(answer for option in task.options for answer in option.answers)
    return task.said if isinstance(task, Await) else ()


def _ends_with(word: str, answers: Sequence[str]) -> bool:
    said = normalise(word)
    return any(f" {said}".endswith(f" {normalise(answer)}") for answer in answers)


def lines(parts: Parts, entries: Sequence[LineEntry], node: Node) -> tuple[Line, ...]:
    """All lines, in order."""
    maker = _Maker(parts)
    for number, (entry, place) in enumerate(zip(entries, node.list, strict=True), 1):
        maker.take(entry, place, number)
    return tuple(maker.made)
