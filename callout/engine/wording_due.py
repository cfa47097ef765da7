"""Sentences about what has to be done again and again.

Rule of this file: as wording.py, whose part it is: English stands here. Hours that
are left are rounded down, those that are overdue up: to the minute under an hour,
to the hour under ten, else to the hour as well.
"""

from __future__ import annotations

import math
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from callout.checklist.duties import Counter
from callout.checklist.model import Aircraft
from callout.engine.counters import NEARLY
from callout.engine.wording import sentence
from callout.words.say_numbers import say_digits, say_duration

if TYPE_CHECKING:
    from callout.engine.duties_due import Left

HOUR = 3600.0


def told(aircraft: Aircraft, one: Left) -> str:
    """How it stands, as it is said."""
    counter = next((c for c in aircraft.counters if c.id == one.due.counter), None)
    over: list[str] = []
    ahead: list[str] = []
    if one.amount is not None and counter is not None:
        spent = one.amount <= NEARLY
        if spent or one.amount <= one.due.warn + NEARLY:
            (over if spent else ahead).append(_amount(counter, abs(one.amount), spent=spent))
    if one.days is not None and (one.days < 0 or one.days <= one.due.warn_days):
        (over if one.days < 0 else ahead).append(_days(one.days))
    if over:
        by = [part for part in over if part]
        how = f"overdue by {' and '.join(by)}" if by else "due now"
        return sentence(f"{one.due.call} {how}")
    return sentence(f"{one.due.call} due {' or '.join(ahead)}")


def left_of(aircraft: Aircraft, one: Left) -> str:
    """How it stands, for whoever asks: however far away it is."""
    if one.over or one.soon:
        return told(aircraft, one)
    counter = next((c for c in aircraft.counters if c.id == one.due.counter), None)
    parts = []
    if one.amount is not None and counter is not None:
        parts.append(_amount(counter, one.amount, spent=False))
    if one.days is not None:
        parts.append(_days(one.days))
    return sentence(f"{one.due.call} due {' or '.join(parts)}" if parts else one.due.call)


def written(aircraft: Aircraft, one: Left, done: int) -> str:
    """How it stands, on paper: figures, and the dates they come from."""
    counter = next((c for c in aircraft.counters if c.id == one.due.counter), None)
    parts = []
    if one.amount is not None and counter is not None:
        size = f"{abs(one.amount) / HOUR:.1f} h" if counter.ends else f"{abs(one.amount):.0f}"
        kind = (
            "left" if one.amount > NEARLY else "over" if one.amount < -NEARLY else "left: due now"
        )
        parts.append(f"{size} {counter.call} {kind}")
    if one.days is not None:
        parts.append(f"{abs(one.days)} days {'left' if one.days >= 0 else 'over'}")
    if done:
        parts.append(f"last done {date.fromordinal(done).isoformat()}")
    return f"{one.due.call}: {', '.join(parts) or 'nothing is known of it'}"


def _amount(counter: Counter, amount: float, *, spent: bool) -> str:
    before = "" if spent else "in "
    if amount <= NEARLY:
        return ""
    if counter.ends:
        return f"{before}{_time(amount, up=spent)}"
    count = math.floor(amount + NEARLY)
    return f"{before}{say_digits(Decimal(count))} {_noun(counter.call, count)}"


def _time(seconds: float, *, up: bool) -> str:
    step = HOUR if seconds >= HOUR else 60.0
    rounded = math.ceil(seconds / step) if up else math.floor(seconds / step)
    return say_duration(max(60.0, rounded * step))


def _days(days: int) -> str:
    if days < 0:
        return _count(-days, "day")
    if days < 2:
        return ("today", "tomorrow")[days]
    return f"in {_count(days, 'day')}"


def _count(count: int, noun: str) -> str:
    return f"{say_digits(Decimal(count))} {noun}{'' if count == 1 else 's'}"


def _noun(call: str, count: int) -> str:
    """The counter's name, which stands for many; for one its last "s" is left out."""
    one = count == 1 and call.endswith("s") and not call.endswith("ss")
    return call[:-1] if one else call
