"""An aircraft as lines for a person to read: gauges, limits, lists, cautions.

Rule of this file: values in, text out. What will be spoken comes from the
engine's own wording, so that it cannot differ; limits stand as they were
written, so that they can be held against the handbook.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.amounts import amount, time_text
from callout.checklist.limit_text import bounds, over_time, range_text
from callout.checklist.model import (
    Advise,
    Aircraft,
    Await,
    CheckList,
    Gauge,
    GoTo,
    Item,
    Limit,
    ListKind,
    Wait,
    Who,
)
from callout.cli import printed_duties, printed_watch
from callout.engine import wording

CAUTIONS = (
    "The aircraft's own handbook rules; these lists are only as right as their author made them.",
    "callout reads lists and remembers answers. It never says that it is safe to start or fly.",
)


def lines(aircraft: Aircraft) -> Iterator[str]:
    """The whole aircraft, line by line."""
    if aircraft.notice:
        yield wording.sentence(aircraft.notice)
        yield ""
    source = aircraft.limits_from
    issue = f", issue {source.issue}" if source.issue else ""
    date = f", of {source.date}" if source.date else ""
    yield f"{aircraft.name}, revision {aircraft.revision}, written by {aircraft.written_by}"
    yield f"Limits from: {source.handbook}{issue}{date}"
    for gauge in aircraft.gauges:
        yield from _gauge(gauge)
    yield from printed_duties.lines(aircraft)
    yield from printed_watch.lines(aircraft)
    for checklist in aircraft.lists:
        yield ""
        yield from _checklist(checklist, aircraft)
    yield ""
    for caution in CAUTIONS:
        yield f"Caution: {caution}"


def _gauge(gauge: Gauge) -> Iterator[str]:
    jitter = "" if gauge.jitter is None else f", jitter {amount(gauge.jitter, gauge.unit)}"
    yield f"Gauge {gauge.call}: {range_text(gauge.possible, gauge.unit)}{jitter}"
    for limit in gauge.limits:
        yield f"  {limit.state}: {'; '.join(_limit(limit, gauge.unit))}"


def _limit(limit: Limit, unit: str) -> Iterator[str]:
    for word, band in (("caution", limit.caution), ("never", limit.never)):
        yield from (f"{word} {bound}" for bound in bounds(band, unit))
    yield from over_time(limit, unit)
    if limit.look_ahead is not None:
        early = f"{time_text(limit.look_ahead)} early" if limit.look_ahead else "no"
        yield f"looking ahead: {early}"


def _checklist(checklist: CheckList, aircraft: Aircraft) -> Iterator[str]:
    yield f"{checklist.title.upper()}{_about(checklist)}"
    for index, item in enumerate(checklist.items()):
        place = wording.place(checklist, index)
        if place:
            yield f"      {place}"
        yield f"  {index + 1:2}. {_item(item, aircraft)}"
    if checklist.abort:
        yield f'      "abort" opens {aircraft.list(checklist.abort).title}'


def _about(checklist: CheckList) -> str:
    notes = [] if checklist.kind is ListKind.NORMAL else [checklist.kind.value]
    notes += [f"needs {n.list_id}{'/' if n.item else ''}{n.item}" for n in checklist.needs]
    return f"  [{', '.join(notes)}]" if notes else ""


def _item(item: Item, aircraft: Aircraft) -> str:
    wanted = f" -> {_wanted(item, aircraft)}" if not isinstance(item.task, Advise) else ""
    notes = ["helper"] if item.who is Who.HELPER else []
    notes += [word for word, on in (("killer", item.killer), ("gate", item.gate)) if on]
    notes += [f"only if {only.choice} is {only.option}" for only in item.only_if]
    if item.stale_after is not None:
        notes.append(f"stale after {time_text(item.stale_after)}")
    tail = f"  [{', '.join(notes)}]" if notes else ""
    return f"{wording.prompt(aircraft, item)}{wanted}{tail}"


def _wanted(item: Item, aircraft: Aircraft) -> str:
    task = item.task
    if isinstance(task, GoTo):
        return f"opens {aircraft.list(task.list_id).title}"
    if isinstance(task, Wait):
        marks = ", ".join(time_text(mark) for mark in task.marks)
        return f"says {marks} remaining" if marks else "says when it is over"
    if not isinstance(task, Await):
        return wording.answer_wanted(aircraft, item)
    answer = f"the value of {aircraft.gauge(task.condition.gauge).call}"
    held = f", for {time_text(task.condition.seconds)}" if task.condition.seconds else ""
    within = f", within {time_text(task.within)}" if task.within is not None else ""
    missed = f", else {aircraft.list(task.missed).title}" if task.missed else ""
    return f"{answer}{held}{within}{missed}"
