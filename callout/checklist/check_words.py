"""Whether every phrase of a file can be told from all others that count beside it.

Rule of this file: it looks at drafts and notes problems, each at the word that
is wrong; it changes nothing. The same text never means two things.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.build import as_words
from callout.checklist.draft_parts import FileDraft, ListDraft
from callout.checklist.fields import spoken
from callout.checklist.model import Ask, Await, Choose, Item
from callout.checklist.positions import Node
from callout.checklist.problems import Collector, Place, quoted
from callout.words.understand import plain
from callout.words.universal import Word, word_of


def check(made: FileDraft, problems: Collector) -> None:
    """Note every phrase that means two things, or cannot be spoken."""
    _names(made, problems)
    procedures = _titles(made, problems)
    _reasons(made, procedures, problems)
    _said(made, procedures, problems)
    for one in made.lists.values():
        for draft in one.items():
            if draft.item:
                _answers(draft.item, draft.node, procedures, problems)


def _names(made: FileDraft, problems: Collector) -> None:
    """Names made from keys must be speakable too."""
    parts = [(key, node) for key, (node, _) in made.gauges.items()]
    parts += [(key, node) for key, (node, _) in made.counters.items()]
    for key, node in parts:
        if "call" not in node.map:
            _speakable(key, node, '"call"', problems)
    for key, one in made.lists.items():
        if "title" not in one.node.map:
            _speakable(key, one.node, '"title"', problems)


def _speakable(key: str, node: Node, remedy: str, problems: Collector) -> None:
    try:
        spoken(as_words(key))
    except ValueError as error:
        problems.add(node.key or node.place, f"{error}, or a {remedy} of its own")


def _titles(made: FileDraft, problems: Collector) -> dict[str, str]:
    """Title -> list of everything that may be called at any time."""
    seen: dict[str, str] = {}
    procedures: dict[str, str] = {}
    for one in made.lists.values():
        if one.header is None:
            continue
        for title, place in _titles_of(one):
            _not_universal(title, place, problems)
            said = plain(title)
            if said in seen:
                what = f'{quoted(title)} is a title of list "{seen[said]}" already'
                problems.add(place, f"{what}; expected another title")
            seen.setdefault(said, one.id)
            if one.header.kind in ("abort", "emergency"):
                procedures[said] = one.id
    return procedures


def _titles_of(one: ListDraft) -> Iterator[tuple[str, Place]]:
    assert one.header is not None
    named = "title" in one.node.map
    own = one.node.at("title") if named else one.node.key or one.node.place
    yield one.header.title or as_words(one.id), own
    for at, title in enumerate(one.header.also or ()):
        yield title, one.node.at("also", at)


def _reasons(made: FileDraft, procedures: dict[str, str], problems: Collector) -> None:
    settings = made.node.map.get("settings", made.node)
    for at, reason in enumerate(made.settings.reasons):
        place = settings.at("reasons", at)
        _not_universal(reason, place, problems)
        _opens_nothing(reason, place, procedures, problems)


def _said(made: FileDraft, procedures: dict[str, str], problems: Collector) -> None:
    """Words that are heard beside the lists."""
    cool, down = made.cool_down, made.run_down
    said = [("cool_down", "power_raised", words) for words in (cool.raised if cool else ())]
    said += [("run_down", "said", words) for words in (down.said if down else ())]
    for part, key, words in said:
        place = made.node.map[part].at(key)
        _not_universal(words, place, problems)
        _opens_nothing(words, place, procedures, problems)


def _opens_nothing(
    words: str, place: Place, procedures: dict[str, str], problems: Collector
) -> None:
    opened = procedures.get(plain(words))
    if opened:
        what = f'{quoted(words)} opens list "{opened}"'
        problems.add(place, f"{what}; expected other words here")


def _answers(item: Item, node: Node, procedures: dict[str, str], problems: Collector) -> None:
    seen: dict[str, str] = {}
    for words, role, place in _phrases_of(item, node):
        _not_universal(words, place, problems)
        _opens_nothing(words, place, procedures, problems)
        said = plain(words)
        if said in seen and seen[said] != role:
            what = f"{quoted(words)} is {role} and {seen[said]}"
            problems.add(place, f"{what}; expected it in one place")
        seen.setdefault(said, role)


def _phrases_of(item: Item, node: Node) -> Iterator[tuple[str, str, Place]]:
    """Every phrase of an item, what it means, and where it stands."""
    if isinstance(item.task, Ask):
        key = "answer" if "answer" in node.map else "answers"
        for at, words in enumerate(item.task.answers):
            yield words, "a right answer", node.at(key, at)
        for at, words in enumerate(item.task.wrong):
            yield words, "a wrong answer", node.at("wrong_answers", at)
    elif isinstance(item.task, Await):
        for at, words in enumerate(item.task.said):
            yield words, "a right answer", node.at("await", "or_said", at)
    elif isinstance(item.task, Choose):
        for option in item.task.options:
            for at, words in enumerate(option.answers):
                yield words, f'the way "{option.id}"', node.at("choose", option.id, at)


def _not_universal(words: str, place: Place, problems: Collector) -> None:
    said = plain(words)
    word = Word.CORRECTION if said.startswith("correction ") else word_of(said)
    if word is not None:
        what = f'{quoted(words)} means "{word.value}" at any time'
        problems.add(place, f"{what}; expected other words")
