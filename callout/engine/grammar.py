"""What counts now: the grammar of a state, made from its row of the table.

Rule of this file: a universal word is listened for exactly where rules.py has
a rule for it, so what is heard and what is handled cannot drift apart.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.model import (
    Aircraft,
    Ask,
    Await,
    CheckList,
    Choose,
    Gauge,
    Item,
    ListKind,
    ReadValue,
)
from callout.engine import watch_words
from callout.engine.duties_times import beside
from callout.engine.rules import RULES, State, Trigger
from callout.engine.state import SessionState, current
from callout.engine.triggers import WARNING_ANSWER, WORD_TRIGGERS
from callout.engine.wording_squawks import HOWS
from callout.words.normal import normalise
from callout.words.phrases import EXPECTED, Grammar, NumberSlot, Phrase
from callout.words.universal import NEVER_A_VALUE, WARNING_ANSWERS, Word, forms

#: Words whose mishearing costs more than a repeat ask for the killer's certainty.
WEIGHTY = frozenset(
    {
        Word.OVERRIDE,
        Word.CONFIRM_OVERRIDE,
        Word.SKIP,
        Word.PROCEED,
        Word.SQUAWK,
        Word.PLAY_SQUAWK,
        Word.NEXT_SQUAWK,
        Word.GROUND,
    }
)

#: Heard only with a squawk in hand: fewer words are easier to tell apart.
OF_A_SQUAWK = frozenset({Word.PLAY_SQUAWK, Word.NEXT_SQUAWK, Word.CLEAR_SQUAWK, Word.GROUND})


def asks_item(state: SessionState) -> bool:
    """Whether the item in hand may be answered now."""
    mode = state.back_to if state.mode is State.STANDING_BY else state.mode
    return mode in {State.ASKING, State.AWAITING, State.CONFIRMING}


def grammar_of(aircraft: Aircraft, state: SessionState) -> Grammar:
    """The grammar that counts in this state; same serial if nothing changed."""
    phrases: dict[str, Phrase] = {}
    for phrase in _phrases(aircraft, state):
        phrases.setdefault(phrase.text, phrase)
    slots = tuple(_slots(aircraft, state))
    old = state.grammar
    if tuple(phrases.values()) == old.phrases and slots == old.numbers:
        return old
    return Grammar(old.serial + 1, tuple(phrases.values()), slots)


def _phrases(aircraft: Aircraft, state: SessionState) -> Iterator[Phrase]:
    """The item's own words first: they win over a universal word of the same sound.

    Before them the answer to a warning: "roger" refused as a value would leave it unanswered.
    """
    if state.warned:
        for form in WARNING_ANSWERS:
            yield Phrase(form.text, WARNING_ANSWER, aircraft.settings.killer_certainty)
    yield from _item_phrases(aircraft, state)
    yield from watch_words.phrases(aircraft, state)
    yield from _correction_phrases(aircraft, state)
    about = state.beside if Trigger.BESIDE in heard_triggers(state) else ()
    for words, what in beside(aircraft, about):
        yield Phrase(normalise(words), f"beside:{what}", aircraft.settings.killer_certainty)
    yield from _list_phrases(aircraft, state)
    yield from _universal_phrases(aircraft, state)


def heard_triggers(state: SessionState) -> frozenset[Trigger]:
    """Triggers with a rule now; standing by also hears what it interrupted."""
    row = set(RULES[state.mode])
    if state.mode is State.STANDING_BY and state.back_to is not None:
        row |= set(RULES[state.back_to])
    return frozenset(row)


def _universal_phrases(aircraft: Aircraft, state: SessionState) -> Iterator[Phrase]:
    settings = aircraft.settings
    known = heard_triggers(state)
    for word, trigger in WORD_TRIGGERS.items():
        if trigger in known and (word not in OF_A_SQUAWK or state.squawks.in_hand):
            level = settings.killer_certainty if word in WEIGHTY else settings.certainty
            if word is Word.AFFIRM:  # it answers the item, if only with a value read back
                level = certainty_for(aircraft, current(aircraft, state)[1])
            for text in forms(word):
                alone = word in WEIGHTY or word is Word.AFFIRM
                yield Phrase(text, f"word:{word.name}", level, alone=alone)


def certainty_for(aircraft: Aircraft, item: Item) -> float:
    """How sure the ear must be of an answer to this item."""
    settings = aircraft.settings
    return settings.killer_certainty if item.killer else settings.certainty


def _item_phrases(aircraft: Aircraft, state: SessionState) -> Iterator[Phrase]:
    if not asks_item(state):
        return
    item = current(aircraft, state)[1]
    sure = certainty_for(aircraft, item)
    task = item.task
    if isinstance(task, Ask):
        for answer in task.answers:
            yield _answer(answer, f"answer:{task.answers[0]}", sure)
    if isinstance(task, Await):
        for answer in task.said:
            yield _answer(answer, f"answer:{task.said[0]}", sure)
    if isinstance(task, Choose):
        for option in task.options:
            for answer in option.answers:
                yield _answer(answer, f"option:{option.id}", sure)
    # Before the wrong answers: one of them may be what shows that a start has failed.
    yield from watch_words.phrases(aircraft, state)
    for text in refused_words(task):  # the wrong answer is as likely as the right one
        likely = 0.0 if text in NEVER_A_VALUE else EXPECTED
        yield Phrase(text, f"wrong:{text}", aircraft.settings.certainty, likely)


def _answer(answer: str, means: str, sure: float) -> Phrase:
    """One answer of the item in hand; "not closed" is none, so it must be said by itself."""
    return Phrase(normalise(answer), means, sure, EXPECTED, alone=True)


def refused_words(task: object) -> tuple[str, ...]:
    """Likely words that are heard in order to be refused by name."""
    wrong = task.wrong if isinstance(task, Ask) else ()
    return (*(normalise(w) for w in wrong), *NEVER_A_VALUE)


def _slots(aircraft: Aircraft, state: SessionState) -> Iterator[NumberSlot]:
    gauge = None
    if asks_item(state):
        item = current(aircraft, state)[1]
        gauge = gauge_of(aircraft, item)
        if gauge is not None:
            yield slot(gauge, "value", certainty_for(aircraft, item))
    bare = gauge is None and state.mode is not State.SQUAWKING
    yield from watch_words.slots(aircraft, state, bare=bare)
    last = last_item(aircraft, state)
    gauge = gauge_of(aircraft, last) if last is not None else None
    if last is not None and gauge is not None:
        sure = certainty_for(aircraft, last)
        yield slot(gauge, "correct value", sure, before="correction")


def gauge_of(aircraft: Aircraft, item: Item) -> Gauge | None:
    """The gauge whose value answers the item, if it is a value item."""
    if isinstance(item.task, ReadValue):
        return aircraft.gauge(item.task.gauge)
    if isinstance(item.task, Await):
        return aircraft.gauge(item.task.condition.gauge)
    return None


def slot(gauge: Gauge, means: str, certainty: float, before: str = "") -> NumberSlot:
    """A number slot over all a gauge can show."""
    low, high = gauge.possible.at_least, gauge.possible.at_most
    assert low is not None
    assert high is not None
    units = tuple(map(normalise, gauge.unit_words))
    return NumberSlot(means, low, high, gauge.decimals, before, units, certainty, alone=True)


def last_item(aircraft: Aircraft, state: SessionState) -> Item | None:
    """The item that a correction would be about: the last one ticked in the running list."""
    may_correct = Trigger.CORRECT_ANSWER in heard_triggers(state)
    if not may_correct or state.last is None or state.run is None:
        return None
    if state.last.list_id != state.run.list_id or state.last.item == state.item:
        return None
    return tuple(aircraft.list(state.last.list_id).items())[state.last.item]


def _correction_phrases(aircraft: Aircraft, state: SessionState) -> Iterator[Phrase]:
    last = last_item(aircraft, state)
    if last is None or not isinstance(last.task, Ask):
        return
    sure = certainty_for(aircraft, last)
    for answer in last.task.answers:
        means = f"correct:{last.task.answers[0]}"
        yield Phrase(f"correction {normalise(answer)}", means, sure, alone=True)


def _list_phrases(aircraft: Aircraft, state: SessionState) -> Iterator[Phrase]:
    sure = aircraft.settings.certainty
    known = heard_triggers(state)
    if Trigger.CALL_PROCEDURE in known:
        for checklist in procedures(aircraft, state):
            for title in (checklist.title, *checklist.also):
                yield Phrase(normalise(title), f"procedure:{checklist.id}", sure)
    if Trigger.OPEN_LIST in known:
        for checklist in aircraft.lists:
            for title in (checklist.title, *checklist.also):
                yield Phrase(f"open {normalise(title)}", f"open:{checklist.id}", sure)
    if Trigger.END_SESSION in known:
        yield Phrase("end session", "end:", aircraft.settings.killer_certainty)
    if Trigger.SQUAWK_HOW in known:
        for how in HOWS:
            yield Phrase(how, f"how:{how}", aircraft.settings.killer_certainty)
    if Trigger.REASON in known:
        for reason in aircraft.settings.reasons:
            yield Phrase(normalise(reason), f"reason:{reason}", aircraft.settings.killer_certainty)


def procedures(aircraft: Aircraft, state: SessionState) -> tuple[CheckList, ...]:
    """Abort lists of the running list and every emergency list, in the file's order."""
    named: set[str] = set()
    if state.run is not None:
        running = aircraft.list(state.run.list_id)
        named = {running.abort, *running.aborts}
    return tuple(c for c in aircraft.lists if c.id in named or c.kind is ListKind.EMERGENCY)
