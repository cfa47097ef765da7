"""What may be said now: phrases, number slots, and which meaning a text has.

Rule of this file: nothing here hears or speaks. A Grammar is a value that the
engine makes and an ear decodes against; `understand` (in understand.py) is the
one place where words become a meaning.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

EXPECTED = 1.5
"""How much likelier (natural logarithm) the answers of an item are, right and wrong ones alike,
than any of the thirty other words that count, once it has been asked.
"""


@dataclass(frozen=True, slots=True)
class Phrase:
    """Words that count as they stand.

    Fields:
        text: spoken form, lower-case words separated by single spaces
        means: the engine's key for it; opaque to the ear
        certainty: the least confidence (0 .. 1) at which the ear may accept it
        likely: how much likelier it is said now than other words (natural logarithm)
        alone: whether it counts only by itself: with a word before or after it ("not closed")
            it would be something else
    """

    text: str
    means: str
    certainty: float = 0.5
    likely: float = 0.0
    alone: bool = False


@dataclass(frozen=True, slots=True)
class NumberSlot:
    """A number that counts, anywhere in a range.

    Fields:
        means: the engine's key for it
        lowest, highest: the possible range, both included (not the limits: an
            out-of-limits value must be heard in order to be refused)
        decimals: how many digits after the point the gauge can be read with
        before: words that must come first, such as "correction"; "" for none
        units: spoken unit words that may follow, such as ("volts", "volt")
        certainty, alone: as in Phrase
    """

    means: str
    lowest: Decimal
    highest: Decimal
    decimals: int = 0
    before: str = ""
    units: tuple[str, ...] = ()
    certainty: float = 0.5
    alone: bool = False


@dataclass(frozen=True, slots=True)
class Grammar:
    """Everything that counts now.

    Fields:
        serial: grows by one at each change, so that words decoded against an
            older grammar are recognised as late
        phrases: plain phrases; no two with the same text
        numbers: number slots; at most one with each `before`
    """

    serial: int
    phrases: tuple[Phrase, ...] = ()
    numbers: tuple[NumberSlot, ...] = ()
