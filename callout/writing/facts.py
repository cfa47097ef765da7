"""What an aircraft file says, as labelled facts in a pilot's words.

Rule of this file: nothing that the engine acts on is left out; what has no words
of its own is told by the names of its fields. Two aircraft that differ differ in
a fact (tested by changing every field there is).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from enum import Enum

from callout.checklist.amounts import amount, time_text
from callout.checklist.model import (
    Advise,
    Aircraft,
    Ask,
    Await,
    Band,
    CheckList,
    Choose,
    Gauge,
    GoTo,
    Item,
    Limit,
    ReadValue,
    Task,
    Wait,
)

Facts = dict[str, str]
"""Label -> what holds; a label that does not apply is not there."""


def within(band: Band, unit: str) -> str:
    """A band in words; "any value" for an open one."""
    ends = [
        f"at {word} {amount(end, unit)}"
        for word, end in (("least", band.at_least), ("most", band.at_most))
        if end is not None
    ]
    return " and ".join(ends) or "any value"


def _answer(task: Task, aircraft: Aircraft) -> Iterator[tuple[str, str]]:
    match task:
        case Ask():
            yield "answer", " or ".join(task.answers)
            yield "refused by name", ", ".join(task.wrong)
        case ReadValue():
            yield "value of", task.gauge
            yield "accepted", within(task.accept, _unit(aircraft, task.gauge))
        case Wait():
            yield "wait", time_text(task.seconds)
            yield "said at", ", ".join(map(time_text, task.marks))
        case Await():
            condition = task.condition
            unit = _unit(aircraft, condition.gauge)
            yield "waits for", f"{condition.gauge} {within(condition.band, unit)}"
            yield "held for", time_text(condition.seconds) if condition.seconds else ""
            yield "time allowed", time_text(task.within) if task.within is not None else ""
            yield "if it is missed", task.missed
            yield "or said", ", ".join(task.said)
        case Choose():
            for option in task.options:
                yield f"way {option.id}", " or ".join(option.answers)
        case GoTo():
            yield "opens", task.list_id
        case Advise():
            yield "said", "needs no answer"


def _unit(aircraft: Aircraft, gauge: str) -> str:
    return next((one.unit for one in aircraft.gauges if one.id == gauge), "1")


def item(aircraft: Aircraft, one: Item) -> Facts:
    """An item."""
    told = {
        "call": one.call,
        **dict(_answer(one.task, aircraft)),
        "by": one.who.value,
        "killer item": "yes" if one.killer else "",
        "station": one.where,
        "reason": one.why,
        "least look": time_text(one.look_time) if one.look_time else "",
        "stale after": time_text(one.stale_after) if one.stale_after is not None else "",
        "gate": "yes" if one.gate else "",
        "only if": ", ".join(f"{only.choice} is {only.option}" for only in one.only_if),
    }
    return {label: text for label, text in told.items() if text}


def checklist(one: CheckList) -> Facts:
    """A list without its items."""
    told = {
        "title": one.title,
        "also called": ", ".join(one.also),
        "kind": one.kind.value,
        "engine state": one.engine_state,
        "abort opens": one.abort,
        "other aborts": ", ".join(one.aborts),
        "needs": ", ".join("/".join(filter(None, (n.list_id, n.item))) for n in one.needs),
        "parts": ", ".join(part.name for part in one.sections if part.name),
    }
    return {label: text for label, text in told.items() if text}


def gauge(one: Gauge) -> Facts:
    """A gauge without its limits."""
    told = {
        "call": one.call,
        "also called": ", ".join(one.also),
        "unit": one.unit,
        "range": f"{one.possible.at_least} to {one.possible.at_most}",
        "decimals": str(one.decimals),
        "jitter": "" if one.jitter is None else str(one.jitter),
        **{f"feed {label}": text for label, text in plain(one.feed).items()},
    }
    return {label: text for label, text in told.items() if text}


def limit(one: Limit, unit: str) -> Facts:
    """Limits of a gauge in one engine state."""
    told: Facts = {}
    for word, band in (("caution", one.caution), ("never", one.never)):
        if band.at_least is not None:
            told[f"{word} below"] = amount(band.at_least, unit)
        if band.at_most is not None:
            told[f"{word} above"] = amount(band.at_most, unit)
    if one.transient:
        brief = one.transient
        told["for a short time above"] = (
            f"{amount(brief.above, unit)}, for {time_text(brief.seconds)}"
        )
        if brief.in_all is not None:
            told["for a short time, in all"] = time_text(brief.in_all)
        if brief.never_above is not None:
            told["for a short time, never above"] = amount(brief.never_above, unit)
    for word, rate in (("rises", one.rate_at_most), ("falls", one.fall_at_most)):
        if rate is not None:
            told[f"{word} at most"] = f"{amount(rate, unit)} per second"
    if one.look_ahead is not None:
        told["looks ahead"] = time_text(one.look_ahead) if one.look_ahead else "no"
    return told


def plain(thing: object, name: str = "") -> Facts:
    """Any value by the names of its fields; nothing for None and what is empty."""
    if isinstance(thing, dict):
        return {k: v for key, one in thing.items() for k, v in plain(one, _join(name, key)).items()}
    if is_dataclass(thing):
        own = {one.name.replace("_", " "): getattr(thing, one.name) for one in fields(thing)}
        return plain({key: value for key, value in own.items() if key != "id"}, name)
    if isinstance(thing, tuple) and any(map(is_dataclass, thing)):
        return plain({_key(one, at): one for at, one in enumerate(thing, start=1)}, name)
    if thing is None or thing == ():
        return {}
    return {name: _text(thing)}


def _join(name: str, key: str) -> str:
    return f"{name} {key}".strip()


def _key(thing: object, at: int) -> str:
    return str(getattr(thing, "id", at))


def _text(thing: object) -> str:
    if isinstance(thing, tuple):
        return ", ".join(map(_text, thing))
    if isinstance(thing, Enum):
        return str(thing.value)
    if isinstance(thing, float):
        return f"{thing:g}"
    return str(thing)
