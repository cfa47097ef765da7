"""Limits of a gauge as plain values: bands, what is allowed for a time, rates.

Rule of this file: as model.py, of which it is a part: frozen dataclasses only,
no reading, no checking. Numbers are Decimal as written; times are seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Band:
    """A closed range; None leaves that side open.  In the gauge's unit."""

    at_least: Decimal | None = None
    at_most: Decimal | None = None

    def holds(self, value: Decimal) -> bool:
        """Whether value lies in the band, both ends included."""
        if self.at_least is not None and value < self.at_least:
            return False
        return self.at_most is None or value <= self.at_most


OPEN = Band()
"""Open on both sides."""


@dataclass(frozen=True, slots=True)
class Transient:
    """Above `above` for at most `seconds` at a time, and never above `never_above`.

    `in_all` is the most that all these times may come to while the engine state
    lasts, or until a list of it is run again, such as for another start (None:
    nothing is said about that).
    """

    above: Decimal
    seconds: float
    never_above: Decimal | None = None
    in_all: float | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """Limits of one gauge while the engine is in one state ("any" for always).

    Fields:
        caution: outside this band a caution is due
        never: outside this band a never-exceed limit is passed
        transient: what is allowed for a short time
        rate_at_most: greatest rate of rise, gauge units per second
        fall_at_most: greatest rate of fall, gauge units per second
        look_ahead: seconds before a never-exceed limit would be passed at which
            "rising fast" or "falling fast" is said; 0 for not at all, None where
            the engine's own time serves
    """

    state: str = "any"
    caution: Band = OPEN
    never: Band = OPEN
    transient: Transient | None = None
    rate_at_most: Decimal | None = None
    fall_at_most: Decimal | None = None
    look_ahead: float | None = None
