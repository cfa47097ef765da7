"""What counts when a trainee speaks: the drill's words, gauges, and the usual words.

Rule of this file: a grammar is made from the drill and the aircraft alone; free words
never count.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.model import Aircraft
from callout.trainer.model import Drill
from callout.trainer.state import DrillState, Posed
from callout.words.normal import normalise
from callout.words.phrases import Grammar, Phrase
from callout.words.universal import Word, forms

END = "end drill"

USUAL: dict[str, tuple[str, ...]] = {
    "again": forms(Word.SAY_AGAIN),
    "help": forms(Word.HELP),
    "why": forms(Word.WHY),
    "next": ("what next", *forms(Word.WHO_IS_NEXT)),
    "hold": (*forms(Word.STAND_BY), *forms(Word.HOLD)),
    "resume": forms(Word.RESUME),
    "disregard": forms(Word.DISREGARD),
    "abort": forms(Word.ABORT),
    "end": (END,),
}
"""Meaning -> the words for it; they count all through a drill, unless a line has them."""

SAID, GAUGE, USUALLY, ANSWER = "said", "gauge", "usual", "answer"


def grammar_of(drill: Drill, aircraft: Aircraft, state: DrillState) -> Grammar:
    """Everything that counts now."""
    found: dict[str, Phrase] = {}
    sure = aircraft.settings.certainty
    pairs = _answers(state.posed) if state.posed is not None else _drill_words(drill, state)
    for text, means in (*pairs, *_gauges(aircraft), *_usual()):
        found.setdefault(text, Phrase(text, means, sure))
    return Grammar(state.grammar.serial + 1, tuple(found.values()))


def _drill_words(drill: Drill, state: DrillState) -> Iterator[tuple[str, str]]:
    for line in drill.lines:
        if state.is_mine(line):
            for word in line.words:
                yield word, f"{SAID}:{word}"
            for wrong in line.wrong:
                for word in wrong.words:
                    yield word, f"{SAID}:{word}"


def _answers(posed: Posed) -> Iterator[tuple[str, str]]:
    for answer in posed.answers:
        yield normalise(answer), f"{ANSWER}:{answer}"


def _gauges(aircraft: Aircraft) -> Iterator[tuple[str, str]]:
    for gauge in aircraft.gauges:
        for name in (gauge.call, *gauge.also):
            yield normalise(name), f"{GAUGE}:{gauge.id}"


def _usual() -> Iterator[tuple[str, str]]:
    for means, words in USUAL.items():
        for word in words:
            yield normalise(word), f"{USUALLY}:{means}"
