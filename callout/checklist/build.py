"""Checked entries -> the plain values of model.py.

Rule of this file: it only converts. Whatever could be wrong has been asked for
in fields.py, schema.py and drafts.py before.
"""

from __future__ import annotations

from callout.checklist.model import (
    Advise,
    Ask,
    Await,
    Band,
    Choose,
    Condition,
    Feed,
    Gauge,
    GoTo,
    Item,
    Limit,
    OnlyIf,
    Option,
    ReadValue,
    ResumePolicy,
    Settings,
    Source,
    Task,
    Transient,
    Wait,
    Who,
)
from callout.checklist.order import OrderRule, Step
from callout.checklist.schema import (
    AwaitEntry,
    FeedEntry,
    GaugeEntry,
    ItemEntry,
    LimitEntry,
    OutsideEntry,
    SettingsEntry,
    SourceEntry,
    TransientEntry,
)
from callout.checklist.schema_review import OrderEntry, StepEntry
from callout.checklist.units import UNITS


def source(entry: SourceEntry) -> Source:
    """Where the limits come from."""
    return Source(entry.handbook, entry.issue or "", entry.date or "")


def order(entry: OrderEntry) -> OrderRule:
    """An order that the owner declared."""
    return OrderRule(
        _step(entry.first), _step(entry.then), tuple(entry.lists or ()), entry.why or ""
    )


def _step(entry: StepEntry) -> Step:
    return Step(entry.call, entry.answer or "")


def settings(entry: SettingsEntry) -> Settings:
    """The settings written, over the ones of model.Settings."""
    given = entry.model_dump(exclude_none=True)
    if "resume" in given:
        given["resume"] = ResumePolicy(given["resume"])
    if "reasons" in given:
        given["reasons"] = tuple(given["reasons"])
    if "grounding_closes" in given:
        given["grounding_closes"] = tuple(given["grounding_closes"])
    return Settings(**given)


def gauge(gauge_id: str, entry: GaugeEntry) -> Gauge:
    """One gauge with its limits in the order written."""
    return Gauge(
        id=gauge_id,
        call=entry.call or as_words(gauge_id),
        unit=entry.unit,
        unit_words=UNITS[entry.unit],
        possible=Band(*entry.range),
        decimals=entry.decimals or 0,
        also=tuple(entry.also or ()),
        limits=tuple(_limit(state, one) for state, one in (entry.limits or {}).items()),
        feed=_feed(entry.feed) if entry.feed else Feed(),
        jitter=entry.jitter,
    )


def _feed(entry: FeedEntry) -> Feed:
    return Feed(
        column=entry.column or "",
        unit=entry.unit or "",
        rate=entry.changes_at_most,
        stuck_after=entry.stuck_after,
        silent_after=entry.silent_after,
    )


def _limit(state: str, entry: LimitEntry) -> Limit:
    passing = entry.transient
    return Limit(
        state=state,
        caution=_inside(entry.caution),
        never=_inside(entry.never),
        transient=_transient(passing) if passing else None,
        rate_at_most=entry.rise_at_most,
        fall_at_most=entry.fall_at_most,
        look_ahead=entry.look_ahead,
    )


def _transient(entry: TransientEntry) -> Transient:
    return Transient(entry.above, entry.for_, entry.never_above, entry.in_all)


def _inside(outside: OutsideEntry | None) -> Band:
    """What is not below and not above: the ends themselves still hold."""
    return Band(outside.below, outside.above) if outside else Band()


def item(item_id: str, kind: str, entry: ItemEntry, where: str) -> Item:
    """One item.

    Args:
        item_id: its id
        kind: the one kind key it has
        entry: what was written
        where: station of its section, for items without one
    """
    return Item(
        id=item_id,
        call=entry.call or entry.say or "",
        task=_task(kind, entry),
        who=Who(entry.who or "pilot"),
        where=entry.where or where,
        why=entry.why or "",
        killer=bool(entry.killer),
        look_time=entry.look_time or 0.0,
        stale_after=entry.stale_after,
        gate=bool(entry.gate),
        only_if=tuple(OnlyIf(choice, option) for choice, option in (entry.only_if or {}).items()),
    )


def _task(kind: str, entry: ItemEntry) -> Task:
    if kind in ("answer", "answers"):
        answers = (entry.answer,) if entry.answer else tuple(entry.answers or ())
        return Ask(answers, tuple(entry.wrong_answers or ()))
    if kind == "read":
        return ReadValue(entry.read or "", Band(entry.at_least, entry.at_most))
    if kind == "wait":
        marks = tuple(sorted(entry.marks or (), reverse=True))
        return Wait(entry.wait or 0.0, marks)
    if kind == "await":
        return _await(entry.await_)
    if kind == "choose":
        options = (entry.choose or {}).items()
        return Choose(tuple(Option(name, tuple(words)) for name, words in options))
    return GoTo(entry.go_to) if entry.go_to else Advise()


def _await(entry: AwaitEntry | None) -> Await:
    assert entry is not None
    band = Band(entry.at_least, entry.at_most)
    condition = Condition(entry.gauge, band, entry.for_ or 0.0)
    return Await(condition, entry.within, entry.missed or "", tuple(entry.or_said or ()))


def as_words(name: str) -> str:
    """A key as it is spoken: hyphens are spaces."""
    return name.replace("-", " ")
