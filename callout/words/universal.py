"""Words that mean the same in every state, and words that never answer.

Rule of this file: data only. What a word does is the engine's business; which
sounds belong to which word, and where that comes from, is written here once.

Sources: "ICAO" is ICAO Doc 9432 / Annex 10 Volume II 5.2.1.5.8, as quoted by
planeenglish.com.br/standard-phraseology and aero-coms.com; "FAA" is the FAA
glossary as quoted by an FAA article on radio phraseology.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType

ICAO = "ICAO Doc 9432 / Annex 10 II 5.2.1.5.8, as quoted"
FAA = "FAA glossary, as quoted"
FSF = "FSF ALAR Briefing Note 1.5, as quoted"
COMMON = "common practice, no source"


class Word(Enum):
    """One universal word; the value is its first spoken form."""

    SAY_AGAIN = "say again"
    STAND_BY = "stand by"
    HOLD = "hold"
    RESUME = "resume"
    DISREGARD = "disregard"
    CORRECTION = "correction"
    ABORT = "abort"
    HELP = "help"
    DEFER = "defer"
    SKIP = "skip"
    OVERRIDE = "override"
    CONFIRM_OVERRIDE = "confirm override"
    WHY = "why"
    WHERE_AM_I = "where am i"
    WHAT_IS_OPEN = "what is open"
    WHAT_COUNTS = "what counts"
    WHO_IS_NEXT = "who is next"
    GO_BACK = "go back"
    PROCEED = "proceed"
    AFFIRM = "affirm"
    NEGATIVE = "negative"
    UNABLE = "unable"
    SQUAWK = "squawk"
    END_SQUAWK = "end squawk"
    PLAY_SQUAWK = "play squawk"
    NEXT_SQUAWK = "next squawk"
    CLEAR_SQUAWK = "clear squawk"
    GROUND = "ground the aircraft"


@dataclass(frozen=True, slots=True)
class Form:
    """One way to say a word: normalised text, and where it comes from."""

    text: str
    source: str


def _forms(*pairs: tuple[str, str]) -> tuple[Form, ...]:
    return tuple(Form(text, source) for text, source in pairs)


UNIVERSAL: Mapping[Word, tuple[Form, ...]] = MappingProxyType(
    {
        Word.SAY_AGAIN: _forms(("say again", ICAO), ("repeat", COMMON)),
        Word.STAND_BY: _forms(("stand by", ICAO), ("standby", ICAO)),
        Word.HOLD: _forms(("hold", COMMON), ("hold checklist", FSF)),
        Word.RESUME: _forms(("resume", COMMON), ("resume checklist", FSF)),
        Word.DISREGARD: _forms(("disregard", ICAO)),
        Word.CORRECTION: _forms(("correction", ICAO)),
        Word.ABORT: _forms(("abort", COMMON)),
        Word.HELP: _forms(("help", COMMON), ("what can i say", COMMON)),
        Word.DEFER: _forms(("defer", COMMON)),
        Word.SKIP: _forms(("skip", COMMON)),
        Word.OVERRIDE: _forms(("override", COMMON)),
        Word.CONFIRM_OVERRIDE: _forms(("confirm override", COMMON)),
        Word.WHY: _forms(("why", COMMON)),
        Word.WHERE_AM_I: _forms(("where am i", COMMON)),
        Word.WHAT_IS_OPEN: _forms(("what is open", COMMON)),
        Word.WHAT_COUNTS: _forms(("what counts", COMMON)),
        Word.WHO_IS_NEXT: _forms(("who is next", COMMON), ("what is next", COMMON)),
        Word.GO_BACK: _forms(("go back", COMMON)),
        Word.PROCEED: _forms(("proceed", COMMON)),
        Word.AFFIRM: _forms(("affirm", ICAO), ("affirmative", FAA), ("yes", COMMON)),
        Word.NEGATIVE: _forms(("negative", ICAO), ("no", COMMON)),
        Word.UNABLE: _forms(("unable", ICAO)),
        Word.SQUAWK: _forms(("squawk", COMMON)),
        Word.END_SQUAWK: _forms(("end squawk", COMMON)),
        Word.PLAY_SQUAWK: _forms(("play squawk", COMMON)),
        Word.NEXT_SQUAWK: _forms(("next squawk", COMMON)),
        Word.CLEAR_SQUAWK: _forms(("clear squawk", COMMON), ("close squawk", COMMON)),
        Word.GROUND: _forms(("ground the aircraft", COMMON)),
    }
)
"""Every universal word with its spoken forms, the usual one first.

No form belongs to two words. A squawk is a written-up defect, as maintenance people
say (common practice, no source), not a transponder code. "repeat" re-speaks here: only
an air traffic frequency keeps it apart from "say again".
"""

ALWAYS_HEARD: tuple[Word, ...] = (
    Word.SAY_AGAIN,
    Word.STAND_BY,
    Word.DISREGARD,
    Word.ABORT,
    Word.HELP,
)
"""These count in every state, whatever else does."""

WARNING_ANSWERS: tuple[Form, ...] = _forms(("roger", ICAO), ("silence", COMMON))
"""These answer a warning, in every state, as long as one stands that was not answered.

ROGER is "I have received all of your last transmission": that and no more. To
silence is what one does to a bell or horn that has been heard.
"""

NEVER_A_VALUE: Mapping[str, str] = MappingProxyType(
    {
        "roger": "says only that the words were received; never an answer to a question (ICAO)",
        "wilco": "says what will be done, not what the gauge shows (ICAO)",
        "check": "in radiotelephony an order to examine, to which no answer is expected (ICAO)",
        "checked": "says that somebody looked, not what it shows (AC 120-71B 5.4, as quoted)",
        "set": "says that somebody acted, not what it shows (AC 120-71B 5.4, as quoted)",
        "done": "says that somebody acted, not what the gauge shows (common practice, no source)",
        "as required": "says nothing that can be checked (an operator's procedures, as quoted)",
    }
)
"""Words that people give instead of a value, and why they do not count as one.

An engine that lists them as wrong answers refuses them by name.
"""


def forms(word: Word) -> tuple[str, ...]:
    """Return the spoken forms of a word, the usual one first."""
    return tuple(form.text for form in UNIVERSAL[word])


def word_of(text: str) -> Word | None:
    """Return the word that this normalised text is a form of; None if of none."""
    return _BY_TEXT.get(text)


_BY_TEXT: Mapping[str, Word] = MappingProxyType(
    {form.text: word for word, spoken in UNIVERSAL.items() for form in spoken}
)
