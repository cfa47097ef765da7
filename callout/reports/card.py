"""The printed card: what an aircraft's file holds, as rows that fit on paper.

Rule of this file: values in, values out. Calls and answers are the file's own
words, numbers stand as digits; what the card adds is only where a list is
entered, how it ends and what a mark means. How it looks is card.typ's business.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from callout.checklist.amounts import amount, time_text
from callout.checklist.limit_text import bounds, over_time, range_text
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
    Need,
    OnlyIf,
    ReadValue,
    Wait,
    Who,
)

CAUTIONS = (
    "The aircraft's own handbook rules; this card is only as right as its author made it.",
    "It does not say that it is safe to start or fly.",
    "Compare limits and procedures with the handbook before use, and after every revision.",
)

_PRINTED = {"degC": "\N{DEGREE SIGN}C", "degF": "\N{DEGREE SIGN}F"}


@dataclass(frozen=True, slots=True)
class Row:
    """One item: `wanted` is "" where nothing is answered; `number` counts in its list."""

    number: int
    call: str
    wanted: str
    killer: bool = False
    helper: bool = False
    condition: str = ""
    again_after: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """Rows under one heading ("" for a list without parts)."""

    heading: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class ListPages:
    """One list: title, `entry` says when it is read, `leads` what abort opens."""

    title: str
    kind: str
    entry: tuple[str, ...]
    parts: tuple[Part, ...]
    leads: str
    ending: str


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One gauge in one engine state."""

    gauge: str
    shows: str
    state: str
    never: str
    caution: str
    other: str


@dataclass(frozen=True, slots=True)
class Card:
    """Everything on the card; lists to use in order first, then those that break in."""

    name: str
    revision: str
    fingerprint: str
    written_by: str
    source: str
    notice: str
    cautions: tuple[str, ...]
    limits: tuple[LimitRow, ...]
    lists: tuple[ListPages, ...]


def card(aircraft: Aircraft, fingerprint: str, only: tuple[str, ...] = ()) -> Card:
    """The card of an aircraft; `only` names lists by their keys (all if none).

    The fingerprint is that of the file as it was read, the one `callout check`
    prints, so that paper and spoken list can be held against one another.
    """
    chosen = [one for one in aircraft.lists if not only or one.id in only]
    chosen.sort(key=lambda one: one.kind is not ListKind.NORMAL)
    return Card(
        name=aircraft.name,
        revision=aircraft.revision,
        fingerprint=fingerprint,
        written_by=aircraft.written_by,
        source=_source(aircraft),
        notice=aircraft.notice,
        cautions=CAUTIONS,
        limits=tuple(row for gauge in aircraft.gauges for row in _limit_rows(gauge)),
        lists=tuple(_pages(one, aircraft) for one in chosen),
    )


def _source(aircraft: Aircraft) -> str:
    source = aircraft.limits_from
    issue = f", issue {source.issue}" if source.issue else ""
    return source.handbook + issue + (f", of {source.date}" if source.date else "")


def _limit_rows(gauge: Gauge) -> Iterator[LimitRow]:
    shows = range_text(gauge.possible, _unit(gauge))
    for limit in gauge.limits:
        yield _limit_row(gauge, limit, shows)


def _limit_row(gauge: Gauge, limit: Limit, shows: str) -> LimitRow:
    unit = _unit(gauge)
    return LimitRow(
        gauge=gauge.call,
        shows=shows,
        state="always" if limit.state == "any" else limit.state,
        never=", ".join(bounds(limit.never, unit)),
        caution=", ".join(bounds(limit.caution, unit)),
        other="; ".join(over_time(limit, unit)),
    )


def _pages(checklist: CheckList, aircraft: Aircraft) -> ListPages:
    abort = f'"abort" leads to: {aircraft.list(checklist.abort).title}' if checklist.abort else ""
    return ListPages(
        title=checklist.title,
        kind=checklist.kind.value,
        entry=tuple(_entry(checklist, aircraft)),
        parts=tuple(_parts(checklist, aircraft)),
        leads=abort,
        ending=f"End of {checklist.title}",
    )


def _entry(checklist: CheckList, aircraft: Aircraft) -> Iterator[str]:
    needs = [_need(need, aircraft) for need in checklist.needs]
    if needs:
        yield f"Before it: {', '.join(dict.fromkeys(needs))}."
    during = [one.title for one in aircraft.lists if one.abort == checklist.id]
    if during:
        yield f'When: "abort" is called during {", ".join(during)}.'
    watch = aircraft.start_watch
    faults = [] if watch is None else [one for one in watch.faults if one.abort == checklist.id]
    if faults and watch is not None:
        calls = ", ".join(one.call for one in faults)
        yield f"When: {calls}, during {aircraft.list(watch.list_id).title}."
    fire = aircraft.residual_fire
    if fire is not None and fire.opens == checklist.id:
        yield f"When: {aircraft.gauge(fire.gauge).call} shows a fire after shutdown."
    missed = [
        f"{item.call} ({one.title})"
        for one in aircraft.lists
        for item in one.items()
        if isinstance(item.task, Await) and item.task.missed == checklist.id
    ]
    if missed:
        yield f"When: out of time at {', '.join(missed)}."


def _need(need: Need, aircraft: Aircraft) -> str:
    wanted = aircraft.list(need.list_id)
    if not need.item:
        return f"{wanted.title} complete"
    return next(one.call for one in wanted.items() if one.id == need.item)


def _parts(checklist: CheckList, aircraft: Aircraft) -> Iterator[Part]:
    number, place = 0, ""
    for section in checklist.sections:
        heading, rows = section.name, list[Row]()
        for item in section.items:
            if item.where and item.where != place and item.where != heading:
                if rows:
                    yield Part(heading, tuple(rows))
                    rows = []
                heading = f"{section.name}: {item.where}" if section.name else item.where
            place = item.where
            number += 1
            rows.append(_row(number, item, aircraft))
        yield Part(heading, tuple(rows))


def _row(number: int, item: Item, aircraft: Aircraft) -> Row:
    return Row(
        number=number,
        call=item.call,
        wanted=_wanted(item, aircraft),
        killer=item.killer,
        helper=item.who is Who.HELPER,
        condition=" and ".join(_condition(only, aircraft) for only in item.only_if),
        again_after="" if item.stale_after is None else time_text(item.stale_after),
    )


def _condition(only: OnlyIf, aircraft: Aircraft) -> str:
    """The choice's own words: "own battery"; its key where no item offers it."""
    for one in aircraft.lists:
        for item in one.items():
            if isinstance(item.task, Choose) and only.choice in (item.id, f"{one.id}/{item.id}"):
                for option in item.task.options:
                    if option.id == only.option:
                        return option.answers[0]
    return only.option


def _wanted(item: Item, aircraft: Aircraft) -> str:
    task = item.task
    if isinstance(task, Ask):
        return ", or ".join(task.answers)
    if isinstance(task, Choose):
        return ", or ".join(option.answers[0] for option in task.options)
    if isinstance(task, Wait):
        return time_text(task.seconds)
    if isinstance(task, GoTo):
        return f"go to {aircraft.list(task.list_id).title}"
    if isinstance(task, ReadValue):
        return _band(task.accept, aircraft.gauge(task.gauge))
    if isinstance(task, Await):
        return _awaited(task, aircraft)
    assert isinstance(task, Advise)
    return ""


def _awaited(task: Await, aircraft: Aircraft) -> str:
    gauge = aircraft.gauge(task.condition.gauge)
    held = f" for {time_text(task.condition.seconds)}" if task.condition.seconds else ""
    within = f", within {time_text(task.within)}" if task.within is not None else ""
    missed = f", else {aircraft.list(task.missed).title}" if task.missed else ""
    return f"{gauge.call} {_band(task.condition.band, gauge)}{held}{within}{missed}"


def _band(band: Band, gauge: Gauge) -> str:
    low, high, unit = band.at_least, band.at_most, _unit(gauge)
    if low is not None and low == high:
        return amount(low, unit)
    if low is not None and high is not None:
        return f"{low} to {amount(high, unit)}"
    if low is not None:
        return f"at least {amount(low, unit)}"
    if high is not None:
        return f"at most {amount(high, unit)}"
    return "read" if unit == "1" else f"read in {unit}"


def _unit(gauge: Gauge) -> str:
    """The symbol as it is printed; the file's may be the one that is easy to type."""
    return _PRINTED.get(gauge.unit, gauge.unit)
