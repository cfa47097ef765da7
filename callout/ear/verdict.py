"""What an ear's guess is worth: the one place where a guess is accepted or refused.

Rule of this file: every ear is judged by the same rules. A guess that is not,
word for word, something that counts now is refused; so is one that is less sure
than the phrase asks for.
"""

from __future__ import annotations

from dataclasses import dataclass

from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar
from callout.words.understand import plain, understand

NOT_IN_GRAMMAR = "not in the grammar"
NOT_SURE = "not sure enough"


@dataclass(frozen=True, slots=True)
class Guess:
    """What a recogniser made of an utterance.

    Fields:
        text: words; "" when it heard none
        certainty: how likely it is that exactly this was said, 0 .. 1
    """

    text: str
    certainty: float


@dataclass(frozen=True, slots=True)
class Spoken:
    """When words sounded and who listened: began and ended in session time (s)."""

    began: float
    ended: float
    source: str


def judge(guess: Guess, grammar: Grammar, spoken: Spoken) -> Heard | NotUnderstood:
    """Accept the guess or refuse it, by what the grammar says counts."""
    text = plain(guess.text)
    match = understand(grammar, text) if text else None
    if match is None:
        return refuse(NOT_IN_GRAMMAR, Guess(text, guess.certainty), grammar, spoken)
    if guess.certainty < match.certainty:
        return refuse(NOT_SURE, Guess(text, guess.certainty), grammar, spoken)
    return Heard(text, guess.certainty, grammar.serial, spoken.began, spoken.ended, spoken.source)


def refuse(why: str, guess: Guess, grammar: Grammar, spoken: Spoken) -> NotUnderstood:
    """Write down a refusal; the guess goes into the log and nowhere else."""
    return NotUnderstood(
        why,
        guess.text,
        guess.certainty,
        grammar.serial,
        spoken.began,
        spoken.ended,
        spoken.source,
    )
