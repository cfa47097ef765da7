"""Target: spoken numbers. What is read as a value is said back as words that are read as it.

Rule of this file: `one` takes bytes and raises only for what is wrong in callout.
"""

from __future__ import annotations

from decimal import Decimal

from callout.words.phrases import Grammar, NumberSlot, Phrase
from callout.words.read_numbers import MOST_CHARACTERS, readings
from callout.words.say_numbers import say_digits
from callout.words.understand import understand

MOST = 600

GRAMMAR = Grammar(
    0,
    (Phrase("closed", "closed", 0.5),),
    (
        NumberSlot("volts", Decimal(0), Decimal(32), 1, units=("volts", "volt"), certainty=0.5),
        NumberSlot("heat", Decimal(-40), Decimal(1000), 0, before="temperature", certainty=0.5),
    ),
)


def one(data: bytes) -> None:
    """Read it as a number, and against what counts at an item."""
    text = data.decode("utf-8", "replace")
    found = readings(text)
    if len(text) > MOST_CHARACTERS:
        assert () == found
    for reading in found:
        assert reading.value.is_finite(), reading
        spoken = say_digits(reading.value)
        assert reading.value in [again.value for again in readings(spoken)], (reading, spoken)
        assert reading.value not in reading.sounds_like, reading
    match = understand(GRAMMAR, text)
    if match is not None and match.numbers is not None and match.numbers.value is not None:
        lowest, highest = {"volts": (0, 32), "heat": (-40, 1000)}[match.means]
        assert lowest <= match.numbers.value <= highest, match
