"""Sentences about counts, cool-down and run-down.

Rule of this file: as wording.py, whose part it is: English stands here and
nowhere else in these parts of the engine. Numbers digit by digit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal

from callout.checklist.duties import Counter, ResidualFire
from callout.checklist.model import Aircraft
from callout.engine.counters import Refusal, Tally, on, used
from callout.engine.wording import sentence, time_left, with_unit
from callout.words.say_numbers import say_digits, say_duration


def _number(value: int | Decimal) -> str:
    return say_digits(Decimal(value))


def _rest(seconds: float) -> str:
    """A rest that is still due, in whole seconds, none of them too few."""
    return sentence(f"rest {say_duration(max(1, math.ceil(seconds - 1e-6)))}")


def _of(counter: Counter, tally: Tally, now: float) -> str:
    """What was counted, and of how many."""
    parts = []
    if counter.total is not None:
        parts.append(f"{say_duration(on(tally, now))} of {say_duration(counter.total)}")
    if counter.most is not None:
        parts.append(f"{_number(used(tally))} of {_number(counter.most)}")
    if not parts:
        parts.append(_number(used(tally)))
        if counter.ends:
            parts.append(say_duration(on(tally, now)))
    return sentence(f"{counter.call}: {', '.join(parts)}")


def item_call(aircraft: Aircraft, path: str) -> str:
    """What an item named "list/item" is called."""
    list_id, _, item_id = path.partition("/")
    return next(item.call for item in aircraft.list(list_id).items() if item.id == item_id)


def refusal(
    aircraft: Aircraft, counter: Counter, tally: Tally, refused: Refusal, now: float
) -> str:
    """Why one more is not allowed, and what would change that."""
    text = _of(counter, tally, now)
    if refused.until is not None:
        return f"{text} {_rest(refused.until - now)}"
    ways = [item_call(aircraft, path) for path in counter.reset_by]
    if counter.gives_back is not None:
        ways.append(f"{say_duration(_to_give(counter, tally))} of {counter.gives_back.state}")
    return f"{text} {sentence('first: ' + ', or '.join(ways))}" if ways else text


def _to_give(counter: Counter, tally: Tally) -> float:
    """Seconds of the state that gives back until one more is allowed."""
    assert counter.gives_back is not None
    assert counter.most is not None
    missing = tally.turns + 1.0 - float(counter.most)
    return max(1.0, math.ceil(missing * counter.gives_back.every))


def last_one(aircraft: Aircraft, counter: Counter) -> str:
    """The next one is the last that is allowed."""
    del aircraft
    assert counter.most is not None
    return sentence(f"{counter.call}: the last of {_number(counter.most)}")


def too_long(aircraft: Aircraft, counter: Counter) -> str:
    """A turn has lasted as long as it may."""
    assert counter.each is not None
    call = sentence(item_call(aircraft, counter.counts[0]))[:-1]
    return f"Caution. {call}, {say_duration(counter.each)}, the longest at a time."


def rest_over(counter: Counter) -> str:
    """The rest has passed."""
    return sentence(f"{counter.call}: rest complete")


def counts(aircraft: Aircraft, tallies: tuple[Tally, ...], now: float) -> str:
    """How every counter stands."""
    by_id = {tally.counter: tally for tally in tallies}
    told = [_of(c, by_id.get(c.id, Tally(c.id)), now) for c in aircraft.counters]
    return " ".join(told) if told else "Nothing is counted."


CLOCK_SET_BACK = "The clock was set back. Rests count from now."

COOLING = "Cool down"


def cooling_left(seconds: float) -> str:
    """What is left of the cool-down, said where something else is in hand."""
    left = say_duration(max(1, math.ceil(seconds - 1e-6)))
    return sentence(f"{COOLING}: {left} remaining")


def wait_left(call: str, seconds: float) -> str:
    """A timed wait of which a part has passed."""
    return f"{sentence(call)} {time_left(max(1, math.ceil(seconds - 1e-6)))}"


def not_cooled(seconds: float | None) -> str:
    """Why fuel stays on: seconds left, or None if it has not begun."""
    return f"{COOLING} has not begun." if seconds is None else cooling_left(seconds)


def blocked(seconds: float | None) -> str:
    """An answer that comes before the cool-down is done."""
    return f"Not yet. {not_cooled(seconds)} Wait, or say override."


COOLED = f"{COOLING} complete."


def cooling_again(seconds: float) -> str:
    """Power was raised."""
    return f"Power raised. {COOLING} starts again, {say_duration(seconds)}."


def short_run_down(seconds: float, usual: float) -> str:
    """It took less than it usually does."""
    took, used_to = say_duration(round(seconds)), say_duration(round(usual))
    return f"Caution. Run down short: {took}, usually {used_to}."


def residual_fire(aircraft: Aircraft, fire: ResidualFire, value: Decimal, *, rising: bool) -> str:
    """The exhaust is hot when it should be cooling."""
    gauge = aircraft.gauge(fire.gauge)
    how = "rising after fuel off" if rising else "after fuel off"
    name = sentence(gauge.call)[:-1]
    return f"Warning. {name} {with_unit(aircraft, gauge, value)}, {how}."


def calls(aircraft: Aircraft) -> Iterator[str]:
    """Sentences known beforehand."""
    for counter in aircraft.counters:
        if counter.each is not None:
            yield too_long(aircraft, counter)
        if counter.rest is not None or counter.between is not None:
            yield rest_over(counter)
        if counter.most is not None and counter.most > 1:
            yield last_one(aircraft, counter)
    if aircraft.cool_down is not None:
        yield COOLED
