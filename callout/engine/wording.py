"""Sentences: an item becomes what is said, a value becomes what is read back.

Rule of this file: the only place where the engine's English stands. Noun
first, state last; numbers digit by digit. Nothing here may ever say that it is
safe to start, take off or fly.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from callout.checklist.model import (
    Advise,
    Aircraft,
    Ask,
    Await,
    Band,
    CheckList,
    Choose,
    Gauge,
    Item,
    ReadValue,
    Wait,
    Who,
)
from callout.engine.limits import Level, Verdict
from callout.words.say_numbers import say_digits, say_duration


def number(aircraft: Aircraft, value: Decimal) -> str:
    """A value read digit by digit, without its unit."""
    return say_digits(value, None, aircraft.settings.decimal_word)


def with_unit(aircraft: Aircraft, gauge: Gauge, value: Decimal) -> str:
    """A value and its unit; a sensor's finer digits are not read out."""
    if value.is_finite() and -value.as_tuple().exponent > gauge.decimals:  # type: ignore[operator]
        value = round(value, gauge.decimals)
    unit = gauge.unit_words[0] if gauge.unit_words else ""
    return f"{number(aircraft, value)} {unit}".strip()


def band(aircraft: Aircraft, gauge: Gauge, limits: Band) -> str:
    """A range in words: "at least two four volts"."""
    low, high = limits.at_least, limits.at_most
    if low is not None and high is not None:
        upper = with_unit(aircraft, gauge, high)
        return f"between {number(aircraft, low)} and {upper}"
    if low is not None:
        return f"at least {with_unit(aircraft, gauge, low)}"
    if high is not None:
        return f"at most {with_unit(aircraft, gauge, high)}"
    return "any value"


def sentence(text: str) -> str:
    """Capital first, full stop last."""
    text = text.strip()
    if not text:
        return ""
    ended = text if text[-1] in ".?!" else f"{text}."
    return ended[0].upper() + ended[1:]


def _addressed(item: Item, text: str) -> str:
    return sentence(f"Helper: {text}" if item.who is Who.HELPER else text)


def prompt(aircraft: Aircraft, item: Item) -> str:
    """What is read aloud for an item."""
    task = item.task
    if isinstance(task, Ask | ReadValue):
        return _addressed(item, f"{item.call}?")
    if isinstance(task, Wait):
        return _addressed(item, f"{item.call}. {sentence(say_duration(task.seconds))}")
    if isinstance(task, Await):
        gauge = aircraft.gauge(task.condition.gauge)
        wanted = band(aircraft, gauge, task.condition.band)
        return _addressed(item, f"{item.call}: {gauge.call} {wanted}")
    if isinstance(task, Choose):
        ways = ", or ".join(option.answers[0] for option in task.options)
        return _addressed(item, f"{item.call}: {ways}?")
    return _addressed(item, item.call)


def answer_wanted(aircraft: Aircraft, item: Item) -> str:
    """What would answer the item, for help and for the printed check."""
    task = item.task
    if isinstance(task, Ask):
        return ", or ".join(task.answers)
    if isinstance(task, Choose):
        return ", or ".join(option.answers[0] for option in task.options)
    if isinstance(task, ReadValue):
        gauge = aircraft.gauge(task.gauge)
        return f"the value of {gauge.call}, {band(aircraft, gauge, task.accept)}"
    if isinstance(task, Await):
        gauge = aircraft.gauge(task.condition.gauge)
        value = f"the value of {gauge.call}, {band(aircraft, gauge, task.condition.band)}"
        return ", or ".join((value, *task.said))
    if isinstance(task, Wait):
        return f"nothing: {say_duration(task.seconds)}"
    return "nothing"


def place(checklist: CheckList, index: int) -> str:
    """Section or station to announce before the item at `index`; "" if unchanged."""
    here = _placed(checklist, index)
    before = _placed(checklist, index - 1) if index else ("", "")
    new = [part for part, old in zip(here, before, strict=True) if part and part != old]
    return sentence(", ".join(dict.fromkeys(new)))


def _placed(checklist: CheckList, index: int) -> tuple[str, str]:
    at = 0
    for section in checklist.sections:
        if index < at + len(section.items):
            return section.name, section.items[index - at].where
        at += len(section.items)
    raise IndexError(index)


def read_back(aircraft: Aircraft, gauge: Gauge, value: Decimal) -> str:
    """The value as understood."""
    return sentence(with_unit(aircraft, gauge, value))


def out_of_range(aircraft: Aircraft, gauge: Gauge, value: Decimal, verdict: Verdict) -> str:
    """Value and limit, spoken back; a passed never-exceed limit is a warning."""
    assert verdict.limit is not None
    read = with_unit(aircraft, gauge, value)
    limit = number(aircraft, verdict.limit)
    name = sentence(gauge.call)[:-1]
    if verdict.level is Level.NEVER:
        word = "never above" if verdict.side == "above" else "never below"
        return sentence(f"Warning. {name} {read}, {word} {limit}")
    word = "at most" if verdict.side == "above" else "at least"
    lead = "Caution. " if verdict.level is Level.CAUTION else ""
    tail = f"limit {word} {limit}" if verdict.level is Level.OUTSIDE else f"{word} {limit}"
    return sentence(f"{lead}{name} {read}, {tail}")


def names(items: tuple[Item, ...]) -> str:
    """Items by name."""
    return ", ".join(item.call for item in items)


def complete(checklist: CheckList) -> str:
    """The completion call."""
    return sentence(f"{checklist.title} checklist complete")


def not_complete(checklist: CheckList, open_: tuple[Item, ...], forced: tuple[Item, ...]) -> str:
    """The call of a list that is not complete, open and overridden items by name."""
    text = f"{checklist.title} checklist not complete"
    if open_:
        text += f". Open: {names(open_)}"
    if forced:
        text += f". Overridden: {names(forced)}"
    return sentence(text)


def left(checklist: CheckList) -> str:
    """The call of a list that was left before its end, nothing skipped."""
    return sentence(f"{checklist.title} checklist left")


def calls(aircraft: Aircraft) -> Iterator[str]:
    """Every sentence known beforehand, in the order of a flying day."""
    if aircraft.notice:
        yield sentence(aircraft.notice)
    for checklist in aircraft.lists:
        yield sentence(checklist.title)
        for index, item in enumerate(checklist.items()):
            if where := place(checklist, index):
                yield where
            yield prompt(aircraft, item)
            if isinstance(item.task, Wait):
                yield time_over(item)
                for mark in item.task.marks:
                    yield time_left(mark)
            if item.why and not isinstance(item.task, Advise):
                yield sentence(item.why)
        yield complete(checklist)
        yield next_list(checklist)
    for fault in aircraft.start_watch.faults if aircraft.start_watch else ():
        first = next(aircraft.list(fault.abort).items())
        yield abort_prompt(fault.call, prompt(aircraft, first))
        yield abort_call(fault.call)


def abort_prompt(call: str, first: str) -> str:
    """The first item of a list that breaks in, and then why: the hand goes there first.

    What is wrong would take a second to say, and the item must be out before that.
    """
    item = first.rstrip(".?!")
    return f"{sentence(f'Abort, {item[:1].lower()}{item[1:]}')} {sentence(call)}"


def abort_call(call: str) -> str:
    """What is wrong and what that means, said again while nobody answers."""
    return sentence(f"{call}. Abort")


def time_left(seconds: float) -> str:
    """A mark of a timed wait."""
    return sentence(f"{say_duration(seconds)} remaining")


def time_over(item: Item) -> str:
    """The end of a timed wait."""
    return sentence(f"{item.call}, time complete")


def next_list(checklist: CheckList) -> str:
    """What is offered between lists."""
    return sentence(f"Next list: {checklist.title}. Say proceed")
