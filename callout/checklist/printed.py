"""An aircraft as lines for a person to read: gauges, limits, lists, cautions.

Rule of this file: values in, text out. Numbers stand as they were written.
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
    GoTo,
    Item,
    Limit,
    ListKind,
    ReadValue,
    Wait,
    Who,
)

CAUTIONS = (
    "The aircraft's own handbook rules; these lists are only as right as their author made them.",
    "callout reads lists and remembers answers. It never says that it is safe to start or fly.",
)


def lines(aircraft: Aircraft) -> Iterator[str]:
    """The whole aircraft, line by line."""
    if aircraft.notice:
        yield aircraft.notice
        yield ""
    source = aircraft.limits_from
    issue = "".join(f", {word} {text}" for word, text in _issue(source.issue, source.date) if text)
    yield f"{aircraft.name}, revision {aircraft.revision}, written by {aircraft.written_by}"
    yield f"Limits from: {source.handbook}{issue}"
    for gauge in aircraft.gauges:
        yield from _gauge(gauge)
    for counter in aircraft.counters:
        most = f", at most {counter.most}" if counter.most is not None else ""
        rest = f", then rest {time_text(counter.rest)}" if counter.rest is not None else ""
        yield f"Counter {counter.call}: counts {counter.counts}{most}{rest}"
    for checklist in aircraft.lists:
        yield ""
        yield from _checklist(checklist, aircraft)
    yield ""
    for caution in CAUTIONS:
        yield f"Caution: {caution}"


def _issue(issue: str, date: str) -> tuple[tuple[str, str], tuple[str, str]]:
    return (("issue", issue), ("of", date))


def _gauge(gauge: Gauge) -> Iterator[str]:
    yield f"Gauge {gauge.call}: {band_text(gauge.possible, gauge.unit)}"
    for limit in gauge.limits:
        yield f"  {limit.state}: {'; '.join(_limit(limit, gauge.unit))}"


def _limit(limit: Limit, unit: str) -> Iterator[str]:
    for word, band in (("caution", limit.caution), ("never", limit.never)):
        if band.at_least is not None:
            yield f"{word} below {amount(band.at_least, unit)}"
        if band.at_most is not None:
            yield f"{word} above {amount(band.at_most, unit)}"
    if limit.transient:
        passing = limit.transient
        highest = passing.never_above
        top = f", never above {amount(highest, unit)}" if highest is not None else ""
        yield f"above {amount(passing.above, unit)} for at most {time_text(passing.seconds)}{top}"
    if limit.rate_at_most is not None:
        yield f"rising at most {amount(limit.rate_at_most, unit)} per second"


def _checklist(checklist: CheckList, aircraft: Aircraft) -> Iterator[str]:
    kind = "" if checklist.kind is ListKind.NORMAL else f" ({checklist.kind.value})"
    yield f"{checklist.title.upper()}{kind}"
    for need in checklist.needs:
        yield f"  needs {need.list_id}{'/' + need.item if need.item else ''}"
    count = 0
    for section in checklist.sections:
        if section.name:
            yield f"  - {section.name} -"
        for item in section.items:
            count += 1
            yield f"  {count:2}. {_item(item, aircraft)}"


def _item(item: Item, aircraft: Aircraft) -> str:
    marks = [item.who.value] if item.who is Who.HELPER else []
    marks += [word for word, on in (("killer", item.killer), ("gate", item.gate)) if on]
    marks += [f"only if {only.choice} is {only.option}" for only in item.only_if]
    tail = f"  [{', '.join(marks)}]" if marks else ""
    return f"{item.call}{_task(item, aircraft)}{tail}"


def _task(item: Item, aircraft: Aircraft) -> str:
    task = item.task
    if isinstance(task, Advise):
        return ""
    if isinstance(task, Ask):
        return f" ... {' / '.join(task.answers)}"
    if isinstance(task, ReadValue):
        unit = aircraft.gauge(task.gauge).unit
        return f" ... read, {band_text(task.accept, unit)}"
    if isinstance(task, Wait):
        return f" ... wait {time_text(task.seconds)}"
    if isinstance(task, Await):
        return f" ... until {_condition(task, aircraft)}"
    if isinstance(task, Choose):
        return f" ... {' / '.join(option.answers[0] for option in task.options)}"
    assert isinstance(task, GoTo)
    return f" ... go to {aircraft.list(task.list_id).title}"


def _condition(task: Await, aircraft: Aircraft) -> str:
    gauge = aircraft.gauge(task.condition.gauge)
    held = f" for {time_text(task.condition.seconds)}" if task.condition.seconds else ""
    within = f", within {time_text(task.within)}" if task.within is not None else ""
    missed = f", else {aircraft.list(task.missed).title}" if task.missed else ""
    return f"{gauge.call} {band_text(task.condition.band, gauge.unit)}{held}{within}{missed}"


def band_text(band: Band, unit: str) -> str:
    """A band in words: "24 to 29 V", "at least 24 V", "any value"."""
    if band.at_least is not None and band.at_most is not None:
        return f"{band.at_least} to {amount(band.at_most, unit)}"
    if band.at_least is not None:
        return f"at least {amount(band.at_least, unit)}"
    if band.at_most is not None:
        return f"at most {amount(band.at_most, unit)}"
    return "any value"


def amount(value: Decimal, unit: str) -> str:
    """A number with its unit; the unit "1" is a bare number."""
    return str(value) if unit == "1" else f"{value} {unit}"


def time_text(seconds: float) -> str:
    """Seconds as they are written: "1 min 30 s"."""
    minutes, rest = divmod(seconds, 60)
    parts = [f"{minutes:g} min"] * (minutes > 0) + [f"{rest:g} s"] * (rest > 0)
    return " ".join(parts) or "0 s"
