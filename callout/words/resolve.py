"""Which of the values that were perhaps said can be meant on this gauge.

Rule of this file: one value comes out only if nothing else is plausible. Every
doubt makes it a question; it is never settled by likelihood.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from callout.words.read_numbers import Form, NumberReading


class Outcome(Enum):
    """What can be done with a spoken number."""

    ONE = "one value"
    CONFIRM = "must be confirmed"
    NONE = "none in range"


@dataclass(frozen=True, slots=True)
class Resolution:
    """A spoken number seen against the range of a gauge.

    Fields:
        outcome: ONE: `values` has exactly one. CONFIRM: `values` has one or more,
            most likely first; none may be used before it has been read back and
            affirmed. NONE: `values` is ().
        values: what can be meant on this gauge
        heard: all that the words may mean, in range or not, for saying what was refused
    """

    outcome: Outcome
    values: tuple[Decimal, ...] = ()
    heard: tuple[Decimal, ...] = ()

    @property
    def value(self) -> Decimal | None:
        """The value if there is exactly one and no doubt about it."""
        return self.values[0] if self.outcome is Outcome.ONE else None


def resolve(
    readings: Sequence[NumberReading], lowest: Decimal, highest: Decimal, decimals: int = 0
) -> Resolution:
    """Choose by what the gauge can show: lowest .. highest, both included.

    A single value in range is taken. It must be confirmed when a value that
    sounds like it is in range too; when only the sound-alike is in range; when
    it has more digits after the point than the gauge can be read with; when the
    words may not have been a number at all; or when it is in range only with a
    point that was not said ("two four five" on a gauge read to tenths).
    """
    heard = tuple(dict.fromkeys(reading.value for reading in readings))
    said = _within(heard, lowest, highest)
    alike = _within((v for r in readings for v in r.sounds_like), lowest, highest)
    values = tuple(dict.fromkeys([*said, *alike]))
    if not values:
        pointed = (_with_point(reading, decimals) for reading in readings)
        values = tuple(_within((v for v in pointed if v is not None), lowest, highest))
        outcome = Outcome.CONFIRM if values else Outcome.NONE
        return Resolution(outcome, values, heard)
    sure = len(values) == len(said) == 1 and not _too_fine(values[0], decimals)
    doubtful = any(reading.doubtful for reading in readings)
    return Resolution(Outcome.ONE if sure and not doubtful else Outcome.CONFIRM, values, heard)


def _within(
    values: Sequence[Decimal] | Iterator[Decimal], lowest: Decimal, highest: Decimal
) -> list[Decimal]:
    return [value for value in values if lowest <= value <= highest]


def _too_fine(value: Decimal, decimals: int) -> bool:
    return value != round(value, decimals)


def _with_point(reading: NumberReading, decimals: int) -> Decimal | None:
    """Put the point where the gauge has it, if it can have been left out."""
    if "." in reading.digits or reading.form not in (Form.DIGITS, Form.GROUP):
        return None
    return reading.value.scaleb(-decimals)
