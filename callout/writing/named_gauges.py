"""The gauges that an owner's document names by its values.

Rule of this file: guesses in, lines of the file out. A range is only a place for the
owner's own figures: round numbers well beyond those of the document.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from callout.checklist.fields import slug
from callout.writing.guessing import Guess

STEPS = tuple(map(Decimal, ("1", "2", "5")))


@dataclass
class NamedGauge:
    """A gauge, and the first item that names it."""

    id: str
    call: str
    unit: str
    numbers: list[Decimal]
    by: Guess

    def lines(self) -> Iterator[str]:
        """Its part of the file."""
        decimals = max(max(0, -int(one.as_tuple().exponent)) for one in self.numbers)
        yield f"  {self.id}:"
        yield f"    call: {self.call}"
        unit = f'"{self.unit}"' if self.unit in ("%", "1") else self.unit
        yield f"    unit: {unit}"
        lowest = -_round_up(-min(self.numbers))
        highest = _round_up(max(self.numbers))
        yield f"    range: {lowest} to {highest}   # CHECK: all that the instrument can show"
        if decimals:
            yield f"    decimals: {min(4, decimals)}"


def named_gauges(rows: Iterable[Guess]) -> dict[tuple[str, str], NamedGauge]:
    """(call, unit) -> gauge, for every item with a value."""
    found: dict[tuple[str, str], NamedGauge] = {}
    taken: set[str] = set()
    for row in rows:
        if row.kind != "item" or row.value is None:
            continue
        unit = row.value.unit or "1"
        call = " ".join(row.call.replace(",", " ").split())
        key = (call, unit)
        if key not in found:
            found[key] = NamedGauge(unique(slug(call) or "gauge", taken), call, unit, [], row)
        ends = (row.value.at_least, row.value.at_most)
        found[key].numbers += [end for end in ends if end is not None]
    return found


def unique(name: str, taken: set[str]) -> str:
    """Return the name, with a number behind it if it is taken; it is taken then."""
    made, count = name, 2
    while made in taken:
        made, count = f"{name}-{count}", count + 1
    taken.add(made)
    return made


def _round_up(number: Decimal) -> Decimal:
    """A round number well above this one."""
    if number <= 0:
        return Decimal(0)
    powers = (Decimal(10) ** power for power in range(11))  # amounts_read: nine digits at most
    return next(step * power for power in powers for step in STEPS if step * power >= number * 2)
