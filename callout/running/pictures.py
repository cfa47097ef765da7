"""What a picture shows: curves of gauges, states of the engine, and what happened.

Rule of this file: values out of a logbook (pictures_feed.py has those of a feed and of
the simulator, which a report has no time to load); nothing is drawn here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from callout.checklist.load import load_all
from callout.checklist.model import Aircraft, Gauge
from callout.engine.effects import Record
from callout.logbook.store import Logbook
from callout.logbook.whole import Whole, whole
from callout.running.problems import CannotRunError

CAUTION, WARNING, NOTE = "caution", "warning", ""

TOLD = {
    "limit passed": WARNING,
    "warning": WARNING,
    "residual fire": WARNING,
    "start fault": WARNING,
    "limit ahead": CAUTION,
    "caution": CAUTION,
    "duty limit": CAUTION,
    "run-down short": CAUTION,
    "sensor fault": CAUTION,
    "time missed": CAUTION,
    "lost": CAUTION,
    "list opened": NOTE,
    "list complete": NOTE,
    "list aborted": NOTE,
    "start began": NOTE,
    "start phase": NOTE,
    "cool-down started": NOTE,
    "cool-down started again": NOTE,
    "sensor good": NOTE,
    "time over": NOTE,
    "came back": NOTE,
    "power raised": NOTE,
    "session ended": NOTE,
}
"""Facts that are shown, and how grave they are."""


@dataclass
class Curve:
    """What one gauge showed: times (s), values in its unit, and what was read aloud."""

    gauge: Gauge
    times: list[float] = field(default_factory=list)
    values: list[float] = field(default_factory=list)
    spoken: list[tuple[float, float]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Span:
    """Some time (s) in which one engine state's limits held."""

    state: str
    began: float
    ended: float


@dataclass(frozen=True, slots=True)
class Mark:
    """Something that happened: when (s), what, how grave ("warning", "caution", ""), where.

    `gauge` and `value` place it on a curve, if it belongs to one.
    """

    at: float
    text: str
    grave: str = NOTE
    gauge: str = ""
    value: float | None = None


@dataclass
class Picture:
    """Everything on one sheet."""

    title: str
    curves: dict[str, Curve]
    spans: list[Span] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def ends(self) -> float:
        """Time of the last thing there is (s)."""
        last = [curve.times[-1] for curve in self.curves.values() if curve.times]
        return max([*last, *(mark.at for mark in self.marks)], default=0.0)


def of_session(logbook: Logbook, number: int, aircraft: Path | None) -> Picture:
    """A session out of the logbook, with the limits of its aircraft file."""
    of = whole(logbook, number)
    file = aircraft or Path(of.row.file)
    loaded = load_all(file)
    picture = looked_back(of, loaded.aircraft)
    if loaded.fingerprint != of.row.fingerprint and of.row.fingerprint and aircraft is None:
        picture.notes.append(f"The limits are those of {file} as it is now.")
    return picture


def looked_back(of: Whole, aircraft: Aircraft) -> Picture:
    """A session that was read, with the limits of its aircraft."""
    when = of.row.began.wall[:16].replace("T", " ")
    title = f"Session {of.row.session}: {of.row.aircraft}, revision {of.row.revision}, {when} UTC"
    picture = empty(title, aircraft)
    for gauge, column in of.showed.items():
        if gauge in picture.curves:
            picture.curves[gauge].times += column.times
            picture.curves[gauge].values += column.values
    states: list[tuple[float, str]] = []
    for at, fact in of.facts:
        _fact(picture, aircraft, states, at, fact)
    picture.spans = spans(states, picture.ends)
    return picture


def empty(title: str, aircraft: Aircraft) -> Picture:
    """A sheet with this aircraft's gauges and nothing on it yet."""
    picture = Picture(title, {gauge.id: Curve(gauge) for gauge in aircraft.gauges})
    if aircraft.notice:
        picture.notes.append(aircraft.notice)
    return picture


def _fact(
    picture: Picture, aircraft: Aircraft, states: list[tuple[float, str]], at: float, fact: Record
) -> None:
    details = dict(fact.data)
    titles = {one.id: one.title for one in aircraft.lists}
    list_id = fact.about.partition("/")[0]
    if fact.fact == "list opened" and list_id in titles:
        states.append((at, aircraft.list(list_id).engine_state))
    if fact.fact == "ticked":
        _spoken(picture, aircraft, at, fact)
    if fact.fact not in TOLD:
        return
    gauge = details.get("gauge", "")
    value = _number(details.get("value", ""))
    text = _words(fact, details, titles.get(list_id, ""), picture)
    if details.get("kind") == "rate":
        gauge = ""  # its value passes no line that is drawn
    picture.marks.append(Mark(at, text, TOLD[fact.fact], gauge, value))


def _words(fact: Record, details: dict[str, str], title: str, picture: Picture) -> str:
    """One short line for people."""
    gauge = details.get("gauge", "")
    call = picture.curves[gauge].gauge.call if gauge in picture.curves else gauge
    if fact.fact == "list opened":
        return title
    if fact.fact == "start phase":
        return f"{details.get('phase', '').replace('-', ' ')} seen"
    if fact.fact == "lost":
        return f"{details.get('part', '')} lost"
    if fact.fact.startswith("list "):
        return f"{title} {fact.fact.removeprefix('list ')}"
    more = [call, details.get("kind", ""), details.get("value", ""), details.get("fault", "")]
    more += [details.get("phase", ""), details.get("part", "")]
    return " ".join([fact.fact, *filter(None, more)])


def _spoken(picture: Picture, aircraft: Aircraft, at: float, fact: Record) -> None:
    """A value that the pilot read aloud."""
    details = dict(fact.data)
    list_id, _, item_id = fact.about.partition("/")
    items = [i for one in aircraft.lists if one.id == list_id for i in one.items()]
    task = next((item.task for item in items if item.id == item_id), None)
    gauge = getattr(task, "gauge", "") or getattr(getattr(task, "condition", None), "gauge", "")
    value = _number(details.get("answer", ""))
    if gauge in picture.curves and value is not None and details.get("by") != "Reading":
        picture.curves[gauge].spoken.append((at, value))


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def spans(states: list[tuple[float, str]], ends: float) -> list[Span]:
    """The times between changes of state; before the first, the limits that always hold."""
    if not states:
        return [Span("any", 0.0, ends)]
    changes = [*states, (ends, "")]
    spans = [Span("any", 0.0, states[0][0])] if states[0][0] > 0 else []
    for (began, state), (ended, _) in pairwise(changes):
        if spans and spans[-1].state == state:
            spans[-1] = Span(state, spans[-1].began, ended)
        elif ended > began:
            spans.append(Span(state, began, ended))
    return spans


def chosen(picture: Picture, wanted: Iterable[str]) -> list[Curve]:
    """The curves to draw: those asked for, or speeds and temperatures that move most.

    Raises CannotRunError for a gauge that is not there, and when there is nothing.
    """
    asked = list(wanted)
    for name in asked:
        if name not in picture.curves:
            raise CannotRunError(
                f"There is no gauge {name!r}; there are {', '.join(picture.curves)}."
            )
    curves = [picture.curves[name] for name in asked]
    if not asked:
        units = ("%", "rpm", "degC", "°C", "degF", "°F")
        curves = [curve for curve in picture.curves.values() if curve.gauge.unit in units]
    curves = [curve for curve in curves if curve.times or curve.spoken]
    if not curves:
        raise CannotRunError("No speed and no temperature was recorded; choose with --gauge.")
    return curves
