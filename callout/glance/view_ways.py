"""What may be said now, as things to touch: made of the grammar that counts, and of nothing else.

Rule of this file: a touch is a phrase. What the grammar does not have cannot be
touched, so a touch can do no more than the voice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from callout.checklist.model import Aircraft, Ask, Gauge, Item, Who
from callout.engine.grammar import gauge_of
from callout.engine.rules import State
from callout.engine.state import SessionState, current
from callout.words.normal import normalise
from callout.words.phrases import Phrase
from callout.words.understand import plain, understand
from callout.words.universal import ALWAYS_HEARD, Word

GROUPS: Mapping[str, str] = MappingProxyType(
    {
        "answer": "answer",
        "wrong": "answer",
        "option": "answer",
        "reason": "answer",
        "how": "answer",
        "roger": "roger",
        "correct": "correct",
        "procedure": "procedure",
        "open": "list",
        "end": "list",
    }
)
"""First part of a phrase's meaning -> where the page puts it; others are calls."""

FIRST: Mapping[State, tuple[Word, ...]] = MappingProxyType(
    {
        State.READY: (Word.PROCEED,),
        State.CONFIRMING: (Word.AFFIRM, Word.NEGATIVE),
        State.REASONING: (Word.NEGATIVE,),
        State.CONFIRMING_OVERRIDE: (Word.CONFIRM_OVERRIDE, Word.NEGATIVE),
        State.STANDING_BY: (Word.RESUME,),
        State.HOLDING: (Word.RESUME,),
        State.REVIEWING: (Word.GO_BACK, Word.PROCEED),
        State.SQUAWKING: (Word.END_SQUAWK,),
        State.CLOSING_SQUAWK: (Word.NEGATIVE,),
    }
)
"""Words that are the answer to what a state asks."""


@dataclass(frozen=True, slots=True)
class Way:
    """Something that may be said.

    Fields:
        text: the words
        group: "answer", "roger", "always", "word", "correct", "call", "procedure" or "list"
        held: it is to be held down, because a brush of the sleeve must not do it
    """

    text: str
    group: str
    held: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """A number that may be given: its gauge, unit, range and digits after the point."""

    name: str
    unit: str
    lowest: str
    highest: str
    decimals: int


def ways(aircraft: Aircraft, state: SessionState, item: Item | None, role: Who) -> tuple[Way, ...]:
    """All of them, one for each meaning but for answers; answers by their letters.

    An answer that is right and those that are likely and wrong stand side by side, so
    that to touch is to answer and not only to tick.
    """
    if state.mode in (State.CLOSED, State.ENDED):
        return ()
    found = list(_made(aircraft, state, item))
    if role is not Who.PILOT:
        theirs = item is not None and item.who is role
        found = [one for one in found if one.group in ("always", "roger")
                 or (theirs and one.group == "answer")]  # fmt: skip
    return tuple(sorted(found, key=lambda way: way.text if way.group == "answer" else ""))


def may_say(aircraft: Aircraft, state: SessionState, text: str, role: Who) -> bool:
    """Whether a screen of this role may send these words at all: a pilot's any.

    A helper may say what their screen offers, and give the number that is asked of them.
    """
    if role is Who.PILOT:
        return True
    item = None
    if state.run is not None and state.item is not None:
        item = current(aircraft, state)[1]
    said = plain(text)
    if any(plain(way.text) == said for way in ways(aircraft, state, item, role)):
        return True
    theirs = item is not None and item.who is role and entry(aircraft, state) is not None
    found = understand(state.grammar, text)
    return theirs and found is not None and found.means == "value"


def entry(aircraft: Aircraft, state: SessionState) -> Entry | None:
    """The number that would answer, if one would."""
    slot = next((one for one in state.grammar.numbers if one.means == "value"), None)
    if slot is None or state.run is None or state.item is None:
        return None
    item = tuple(aircraft.list(state.run.list_id).items())[state.item]
    gauge = gauge_of(aircraft, item)
    if gauge is None:
        return None
    ends = (f"{slot.lowest:f}", f"{slot.highest:f}")
    return Entry(gauge.call, unit_of(gauge), *ends, slot.decimals)


def unit_of(gauge: Gauge) -> str:
    """The unit as people write it; "" for a number without one."""
    return {"1": "", "degC": "°C"}.get(gauge.unit, gauge.unit)


def _made(aircraft: Aircraft, state: SessionState, item: Item | None) -> Iterator[Way]:
    meanings: set[str] = set()
    own = item.task.wrong if item is not None and isinstance(item.task, Ask) else ()
    wrong = {normalise(one) for one in own}
    for phrase in state.grammar.phrases:
        kind, _, argument = phrase.means.partition(":")
        several = kind in ("answer", "wrong")
        if (kind == "wrong" and argument not in wrong) or phrase.means in meanings:
            continue
        if not several:
            meanings.add(phrase.means)
        yield _way(state, item, phrase, kind, argument)


def _way(state: SessionState, item: Item | None, phrase: Phrase, kind: str, argument: str) -> Way:
    if kind != "word":
        killer = item is not None and item.killer and kind in ("answer", "option")
        return Way(phrase.text, GROUPS.get(kind, "call"), killer or kind == "end")
    word = Word[argument]
    held = word is Word.CONFIRM_OVERRIDE
    if word in FIRST.get(state.mode, ()):
        killer = word is Word.AFFIRM and item is not None and item.killer
        return Way(phrase.text, "answer", held or killer)
    return Way(phrase.text, "always" if word in ALWAYS_HEARD else "word", held)
