"""What counts when a trainee speaks: the drill's words, gauges, and the usual words.

Rule of this file: a grammar is made from the drill and the aircraft alone; free words
never count. Words that count for the same lines mean the same, so that none of them is
another's rival; what is asked for now is likelier than the rest, right words and wrong
ones alike, as in a list.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.model import Aircraft
from callout.trainer.model import Drill
from callout.trainer.state import ASKED, DrillState, Posed, Standing
from callout.words.normal import normalise
from callout.words.phrases import EXPECTED, Grammar, Phrase
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
    for text, means, likely in pairs:
        found.setdefault(text, Phrase(text, means, sure, likely))
    for text, means in (*_gauges(aircraft), *_usual()):
        found.setdefault(text, Phrase(text, means, sure))
    return Grammar(state.grammar.serial + 1, tuple(found.values()))


def expected_now(drill: Drill, state: DrillState) -> tuple[str, ...]:
    """Lines that a trainee may be about to answer: open, or their cue is said or over."""
    if not state.marks:
        return ()
    marks = dict(zip((line.id for line in drill.lines), state.marks, strict=True))
    return tuple(
        line.id
        for line in drill.lines
        if state.is_mine(line) and _may_come(marks[line.id].standing)
        and all(marks[name].over or marks[name].standing is Standing.SAYING for name in line.after)
    )  # fmt: skip


def _may_come(standing: Standing) -> bool:
    return standing is Standing.WAITING or standing in ASKED


def _drill_words(drill: Drill, state: DrillState) -> Iterator[tuple[str, str, float]]:
    """Each word, the first word that counts for the same lines, and how likely it is now."""
    expected = expected_now(drill, state)
    serves: dict[str, list[tuple[str, str]]] = {}
    likely: dict[str, float] = {}
    for line in drill.lines:
        if not state.is_mine(line):
            continue
        right = ((word, "") for word in line.words)
        wrong = ((word, one.because) for one in line.wrong for word in one.words)
        for word, because in (*right, *wrong):
            serves.setdefault(word, []).append((line.id, because))
            likely[word] = max(likely.get(word, 0.0), EXPECTED if line.id in expected else 0.0)
    first: dict[tuple[tuple[str, str], ...], str] = {}
    for word, lines in serves.items():
        yield word, f"{SAID}:{first.setdefault(tuple(lines), word)}", likely[word]


def _answers(posed: Posed) -> Iterator[tuple[str, str, float]]:
    for answer in posed.answers:
        yield normalise(answer), f"{ANSWER}:{answer}", EXPECTED


def _gauges(aircraft: Aircraft) -> Iterator[tuple[str, str]]:
    for gauge in aircraft.gauges:
        for name in (gauge.call, *gauge.also):
            yield normalise(name), f"{GAUGE}:{gauge.id}"


def _usual() -> Iterator[tuple[str, str]]:
    for means, words in USUAL.items():
        for word in words:
            yield normalise(word), f"{USUALLY}:{means}"
