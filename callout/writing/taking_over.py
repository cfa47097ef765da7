"""An owner's document -> an aircraft file with every guess marked for him.

Rule of this file: every piece of the document stands in the file, as what it
became and as it was written (in the comment above it); what nothing could be
made of stands there as a comment alone. The file can be loaded as it is.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from callout.checklist.fields import slug
from callout.checklist.load import load
from callout.checklist.problems import FileProblems
from callout.words.say_numbers import say_whole
from callout.words.universal import word_of
from callout.writing.documents import NoDocument, Piece
from callout.writing.guessing import Guess, guess
from callout.writing.interview import quoted_yaml
from callout.writing.named_gauges import NamedGauge, named_gauges, unique

EMERGENCY = frozenset(["emergency", "fire", "failure", "abort", "stuck", "runaway"])
"""Words in a title that make it a procedure for when something goes wrong."""
MOST_ROUNDS = 50
MOST_PIECES = 3000
"""A flying day has some two hundred lines; what is a book is no checklist."""
COVER = 3
"""Lines that may stand on a document's cover."""


@dataclass(frozen=True, slots=True)
class Takeover:
    """What became of a document.

    Fields:
        text: the aircraft file
        items, doubted, left: how many items, how many of them are marked, and how
            many pieces stand as comments alone
    """

    text: str
    items: int
    doubted: int
    left: int


@dataclass
class _Group:
    """A list on its way."""

    heading: Guess | None
    title: str
    rows: list[Guess] = field(default_factory=list)

    @property
    def full(self) -> bool:
        return any(row.kind in ("item", "remark") for row in self.rows)


def take_over(pieces: Sequence[Piece], source: str, name: str = "my machine") -> Takeover:
    """The file made of a document's pieces; `source` is the document's name.

    Raises NoDocument for what is no checklist: too long, or nothing that can be written down.
    """
    if len(pieces) > MOST_PIECES:
        raise NoDocument(
            f"{source} has {len(pieces)} lines; expected a checklist, with {MOST_PIECES} at most"
        )
    guesses = _without_cover([guess(piece) for piece in pieces])
    for _ in range(MOST_ROUNDS):
        text, origin = _written(guesses, source, name)
        refused = _refused(text, origin)
        if not refused:
            break
        if -1 in refused:
            raise NoDocument(f"no aircraft file can be made of {source}: {refused[-1]}")
        guesses = [
            replace(one, kind="left", doubts=(refused[at],)) if at in refused else one
            for at, one in enumerate(guesses)
        ]
    else:
        why = next(iter(refused.values()))
        raise NoDocument(f"too much of {source} is nothing that can be spoken, such as: {why}")
    items = [one for one in guesses if one.kind == "item"]
    doubted = sum(1 for one in items if one.doubts)
    left = sum(1 for one in guesses if one.kind in ("left", "head"))
    return Takeover(text, len(items), doubted, left)


def _without_cover(guesses: list[Guess]) -> list[Guess]:
    """A line or two before the first list are the document's own title, not items."""
    first = next((at for at, one in enumerate(guesses) if one.kind == "list"), 0)
    cover = [one for one in guesses[:first] if one.kind == "item"]
    if len(cover) > COVER or any(one.piece.marked for one in cover):
        return guesses
    title = "the document's own title"
    return [
        replace(one, kind="left", doubts=(title,)) if at < first and one.kind == "item" else one
        for at, one in enumerate(guesses)
    ]


def _refused(text: str, origin: dict[int, int]) -> dict[int, str]:
    """Guesses that the language does not take as they are, and why."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "taken.yaml"
        file.write_text(text, encoding="utf-8")
        try:
            load(file)
        except FileProblems as error:
            return {_of(origin, one.line): one.message for one in error.problems}
    return {}


def _of(origin: dict[int, int], line: int) -> int:
    """The guess that a line was written for; -1 for lines at the top, which no guess made."""
    return origin[max((at for at in origin if at <= line), default=0)]


class _Writer:
    """Lines, each with the guess it was written for."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.origin: dict[int, int] = {0: -1}

    def add(self, line: str, of: int | None = None) -> None:
        if of is not None:
            self.origin[len(self.lines) + 1] = of
        self.lines.append(line)

    def comment(self, text: str, indent: str) -> None:
        clean = "".join(sign if sign.isprintable() else " " for sign in text)
        self.add(f"{indent}# {' '.join(clean.split())}")


def _written(guesses: list[Guess], source: str, name: str) -> tuple[str, dict[int, int]]:
    groups = _groups(guesses)
    number = {id(one): at for at, one in enumerate(guesses)}
    writer = _Writer()
    _head(writer, source, name)
    gauges = named_gauges(row for group in groups for row in group.rows)
    if gauges:
        writer.add("gauges:")
        for gauge in gauges.values():
            for line in gauge.lines():
                writer.add(line, number[id(gauge.by)])
    writer.add("")
    writer.add("lists:")
    titles: set[str] = set()
    for group in groups:
        _group(writer, group, number, gauges, titles)
    if not any(group.full for group in groups):
        writer.add("  empty:")
        writer.add("    items: [{say: No item was found in the document.}]")
    return "\n".join(writer.lines) + "\n", writer.origin


def _groups(guesses: list[Guess]) -> list[_Group]:
    groups = [_Group(None, "checklist")]
    for one in guesses:
        if one.kind == "list":
            groups.append(_Group(one, one.call))
        else:
            groups[-1].rows.append(one)
    return groups


def _head(writer: _Writer, source: str, name: str) -> None:
    for line in (
        f"Taken over from {source} by `callout import`.",
        'Above each item stands what the document says. "CHECK" marks what was guessed or is',
        'missing; "NOT TAKEN" marks what could not be made an item. Nothing else was added.',
        "The handbook of the machine rules.",
    ):
        writer.add(f"# {line}".rstrip())
    for line in ("", "callout: 1", "", "aircraft:"):
        writer.add(line)
    writer.add(f"  name: {quoted_yaml(name)}")
    writer.add('  revision: "1"')
    writer.add("  written_by: me   # CHECK: who answers for these lists?")
    for line in ("  limits_from:", "    handbook: unknown   # CHECK: handbook, issue, date", ""):
        writer.add(line)


def _group(
    writer: _Writer,
    group: _Group,
    number: dict[int, int],
    gauges: dict[tuple[str, str], NamedGauge],
    titles: set[str],
) -> None:
    indent = "  " if not group.full else "      "
    if group.heading is not None:
        writer.comment(f"{group.heading.piece.place}: {group.heading.piece.text}", "  ")
    if group.full:
        _title(writer, group, number, titles)
    taken: set[str] = set()
    for row in group.rows:
        writer.comment(f"{row.piece.place}: {row.piece.text}", indent)
        if row.kind in ("left", "head"):
            why = row.doubts[0] if row.doubts else "the head of a table"
            writer.comment(f"NOT TAKEN: {why}", indent)
            continue
        for doubt in row.doubts:
            writer.comment(f"CHECK: {doubt}", indent)
        for at, line in enumerate(_entry(row, gauges, taken)):
            writer.add(f"      {'- ' if at == 0 else '  '}{line}", number[id(row)])


def _title(writer: _Writer, group: _Group, number: dict[int, int], titles: set[str]) -> None:
    title = _own_title(group.title, titles)
    titles.add(title)
    of = number[id(group.heading)] if group.heading is not None else None
    writer.add(f"  {slug(title)}:", of)
    writer.add(f"    title: {title}", of)
    if EMERGENCY & set(title.split()):
        writer.add("    kind: emergency   # CHECK: guessed by its title")
    writer.add("    items:")


def _own_title(wanted: str, taken: set[str]) -> str:
    """A title that can be called by voice: no other list's, and no word that has a meaning."""
    first = wanted if word_of(wanted) is None else f"{wanted} list"
    title, part = first, 2
    while title in taken:
        title, part = f"{first} part {say_whole(part)}", part + 1
    return title


def _entry(row: Guess, gauges: dict[tuple[str, str], NamedGauge], taken: set[str]) -> Iterator[str]:
    if row.kind == "remark":
        yield f"say: {quoted_yaml(row.call)}"
        name = unique(slug(" ".join(row.call.split()[:8])) or "remark", taken)
        yield f"id: {name}"
        return
    name = slug(" ".join(row.call.split()[:8])) or "item"
    made = unique(name, taken)
    yield f"call: {row.call}"
    if made != name:
        yield f"id: {made}"
    if row.wait is not None:
        yield f"wait: {row.wait:g} s"
    elif row.value is not None:
        call = " ".join(row.call.replace(",", " ").split())
        yield f"read: {gauges[call, row.value.unit or '1'].id}"
        for key, end in (("at_least", row.value.at_least), ("at_most", row.value.at_most)):
            if end is not None:
                yield f"{key}: {end}"
    else:
        yield f"answer: {_spoken_answer(row.answer)}"
    if row.helper:
        yield "who: helper"
    if row.killer:
        yield "killer: yes"


def _spoken_answer(text: str) -> str:
    """Words that mean something at any time are no answer: "standby" becomes "at standby"."""
    if word_of(text) is not None:
        return f"at {text}   # CHECK: {text} alone means something to callout at any time"
    return text
