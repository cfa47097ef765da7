"""What a picture shows: curves of gauges, states of the engine, and what happened.

Rule of this file: values out of a logbook, a feed or the simulator; nothing is
drawn here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from callout.checklist.load import load_all
from callout.checklist.model import Aircraft, Gauge
from callout.engine.effects import Record
from callout.engine.events import Event, FeedFault, FeedGood, Reading
from callout.gauges.feed.recording import rows
from callout.gauges.feed.watch import FeedWatch
from callout.gauges.simulator import Machine, Plan, Sample, samples
from callout.gauges.simulator.readings import GAS_SPEED
from callout.logbook.store import Logbook
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

_IDLE = 76.0
"""Per cent at which the simulated machine idles (simulator.Plan)."""


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
    row = logbook.session(number)
    file = aircraft or Path(row.file)
    loaded = load_all(file)
    when = row.began.wall[:16].replace("T", " ")
    picture = _picture(
        f"Session {number}: {row.aircraft}, revision {row.revision}, {when} UTC", loaded.aircraft
    )
    if loaded.fingerprint != row.fingerprint and row.fingerprint and aircraft is None:
        picture.notes.append(f"The limits are those of {file} as it is now.")
    for _, event in logbook.events(number):
        if isinstance(event, Reading):
            _add(picture, event)
    states: list[tuple[float, str]] = []
    for at, fact in logbook.facts(number):
        _fact(picture, loaded.aircraft, states, at, fact)
    picture.spans = _spans(states, picture.ends)
    return picture


def of_feed(file: Path, aircraft: Aircraft, state: str) -> Picture:
    """A recorded feed, judged as in a session, with the limits of one engine state."""
    picture = _picture(f"Feed {file.name}, with the gauges of {aircraft.name}", aircraft)
    watch = FeedWatch(aircraft.gauges, paced=False)
    for read in rows(file):
        if read.row is not None:
            _take(picture, watch.row(read.row, 0.0))
        elif read.why:
            picture.notes = [f"Line {read.number} was not understood: {read.why}."]
    picture.spans = [Span(state, 0.0, picture.ends)]
    return picture


def of_simulator(machine: Machine, plan: Plan, seconds: float, aircraft: Aircraft) -> Picture:
    """A simulated start, with the limits of an aircraft that has gauges of those names."""
    title = f"Simulated start of an invented machine, with the limits of {aircraft.name}"
    picture = _picture(title, aircraft)
    states: list[tuple[float, str]] = [(0.0, "start")]
    before: Sample | None = None
    for sample in samples(machine, plan):
        if sample.at > seconds:
            break
        for name, value in sample.shown.items():
            if name in picture.curves and round(sample.at * 100) % 4 == 0:
                picture.curves[name].times.append(sample.at)
                picture.curves[name].values.append(value)
        if before is not None:
            picture.marks += _handled(before, sample)
            _state(states, sample)
        before = sample
    picture.spans = _spans(states, picture.ends)
    return picture


def _picture(title: str, aircraft: Aircraft) -> Picture:
    picture = Picture(title, {gauge.id: Curve(gauge) for gauge in aircraft.gauges})
    if aircraft.notice:
        picture.notes.append(aircraft.notice)
    return picture


def _take(picture: Picture, events: Iterable[Event]) -> None:
    for event in events:
        if isinstance(event, Reading):
            _add(picture, event)
        elif isinstance(event, FeedFault):
            call = picture.curves[event.gauge].gauge.call if event.gauge else "feed"
            picture.marks.append(Mark(picture.ends, f"{call}: {event.kind}", CAUTION, event.gauge))
        elif isinstance(event, FeedGood) and event.gauge:
            call = picture.curves[event.gauge].gauge.call
            picture.marks.append(Mark(picture.ends, f"{call}: works again", NOTE, event.gauge))


def _add(picture: Picture, reading: Reading) -> None:
    curve = picture.curves.get(reading.gauge)
    if curve is not None and reading.value.is_finite():
        curve.times.append(reading.at)
        curve.values.append(float(reading.value))


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


def _spans(states: list[tuple[float, str]], ends: float) -> list[Span]:
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


def _handled(before: Sample, now: Sample) -> Iterator[Mark]:
    """What the hands did, and the flame."""
    hands = (("starter", "starter on", "starter off"), ("igniter", "igniter on", "igniter off"))
    for name, on, off in hands:
        was, is_ = getattr(before.controls, name), getattr(now.controls, name)
        if was != is_:
            yield Mark(now.at, on if is_ else off)
    if (before.controls.fuel > 0) != (now.controls.fuel > 0):
        yield Mark(now.at, "fuel on" if now.controls.fuel > 0 else "fuel off")
    if before.state.lit != now.state.lit and (now.state.lit or now.controls.fuel > 0):
        yield Mark(now.at, "light-off" if now.state.lit else "flame out")


def _state(states: list[tuple[float, str]], sample: Sample) -> None:
    state = states[-1][1]
    if state == "start" and sample.shown.get(GAS_SPEED, 0.0) >= _IDLE:
        states.append((sample.at, "running"))
    elif state == "running" and sample.controls.fuel == 0.0:
        states.append((sample.at, "cool-down"))


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
