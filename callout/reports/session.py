"""One session of the logbook as a report.

Rule of this file: it reads, and judges nothing; the same session gives the same
report, whenever and on whatever machine it is made.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from callout.checklist.model import Aircraft
from callout.engine.effects import Record
from callout.logbook.rows import SessionRow
from callout.logbook.stamp import RECORDING, Stamp
from callout.logbook.store import Logbook
from callout.logbook.whole import Whole
from callout.reports import readings, squawks
from callout.reports.items import lists
from callout.reports.names import Names, clock, number, plain
from callout.reports.telling import told
from callout.reports.values import CAUTION, NOTE, WARNING, Line, ListPart, Pair, Report

CAUTIONS = (
    "The aircraft's own handbook rules; these lists are only as right as their author made them.",
    "This is what callout heard and read, and both can be wrong.",
    "It never says that anything was or is safe to start, take off or fly.",
)

_Facts = Sequence[tuple[float, Record]]


def report(
    logbook: Logbook, of: Whole, aircraft: Aircraft | None, notes: Sequence[str] = ()
) -> Report:
    """The whole report; `aircraft` None where its file cannot be read any more.

    Raises LogbookError.
    """
    row, facts, names = of.row, of.facts, Names(aircraft)
    held = readings.states(aircraft, facts) if aircraft is not None else []
    parts, timeline = lists(names, facts), tuple(_timeline(names, facts))
    alerts = tuple(line for line in timeline if line.grave)
    return Report(
        title=f"Session {row.session}: {row.aircraft}",
        notice=aircraft.notice if aircraft is not None else "",
        cautions=CAUTIONS,
        notes=(*notes, *_notes(row)),
        summary=(
            *_summary(row, parts, alerts, facts, of.readings),
            *_sound(squawks.sound_of_session(logbook, row.session)),
        ),
        alerts=alerts,
        overridden=tuple(
            Line(clock(at), _after(told(names, fact))) for at, fact in facts
            if fact.fact == "overridden"
        ),
        left_open=tuple(_left_open(parts)),
        start=tuple(_starts(names, facts)),
        lists=parts,
        spoken=readings.spoken(names, held, facts),
        measured=readings.measured(names, held, of.showed),
        counters=tuple(_counters(facts)),
        timeline=timeline,
        squawks=squawks.of_session(logbook, row.session),
    )  # fmt: skip


def _after(line: tuple[str, str] | None) -> str:
    return line[1].removeprefix("overridden: ") if line is not None else ""


def _notes(row: SessionRow) -> Iterator[str]:
    if row.began.boot_id == RECORDING:
        yield "This session was played from a recording and counts for nothing else."
    if row.ended is None:
        yield "This session has no end in the logbook: it goes on, or was broken off."


def _timeline(names: Names, facts: _Facts) -> Iterator[Line]:
    for at, fact in facts:
        line = told(names, fact)
        if line is not None:
            yield Line(clock(at), line[1], line[0])


def _summary(
    row: SessionRow, parts: Sequence[ListPart], alerts: Sequence[Line], facts: _Facts, read: int
) -> Iterator[Pair]:
    last = row.ended or row.last
    yield Pair("Aircraft", f"{row.aircraft}, revision {row.revision}")
    recorded = row.began.boot_id == RECORDING
    yield Pair("Began", "not known, played from a recording" if recorded else _utc(row.began))
    ended = row.how if row.ended is not None else "no end, last entry"
    yield Pair("Ended", ended if recorded else f"{ended}, {_utc(last)}")
    yield Pair("Length", f"{clock(last.now - row.began.now)} (minutes and seconds)")
    outcomes = [part.outcome or "not ended" for part in parts]
    counts = (f"{outcomes.count(one)} {one}" for one in sorted(set(outcomes)))
    yield Pair("Lists", ", ".join(counts) or "none")
    rows = [item for part in parts for item in part.rows]
    states = ("answered", "open", "deferred", "skipped", "overridden")
    each = (f"{sum(item.state == state for item in rows)} {state}" for state in states)
    yield Pair("Items", ", ".join(text for text in each if not text.startswith("0 ")) or "none")
    grave = sum(line.grave == WARNING for line in alerts)
    yield Pair("Warnings, cautions", f"{grave}, {len(alerts) - grave}")
    names = [fact.fact for _, fact in facts]
    yield Pair("Not understood", str(names.count("not understood")))
    yield Pair("Wrong answers", str(names.count("wrong answer") + names.count("out of range")))
    yield Pair("Too quick to be a look", str(names.count("quick answer")))
    yield Pair("Measured values", str(read) if read else "none, no feed")


def _sound(kept: str) -> Iterator[Pair]:
    if kept:
        yield Pair("Sound of the whole session", kept)


def _utc(stamp: Stamp) -> str:
    return f"{stamp.wall[:16].replace('T', ' ')} UTC"


def _left_open(parts: Sequence[ListPart]) -> Iterator[Line]:
    for part in parts:
        for item in part.rows:
            if item.state in ("open", "deferred", "skipped"):
                yield Line(item.asked, f"{part.title}: {item.call} ({item.state})", NOTE)


def _starts(names: Names, facts: _Facts) -> Iterator[Pair]:
    """Each start that was watched: its phases, and what its gauges reached."""
    for at, fact in facts:
        if fact.fact != "start watched":
            continue
        data = dict(fact.data)
        yield Pair(f"Start that ended {clock(at)}", plain(data.get("outcome", "")))
        times = {k[3:]: number(v) for k, v in data.items() if k.startswith("at ")}
        for phase, after in sorted(times.items(), key=lambda one: one[1] or Decimal(0)):
            yield Pair(f"{plain(phase)} after", f"{after} s")
        for key, value in data.items():
            word, _, gauge = key.partition(" ")
            if word in ("lowest", "highest"):
                yield Pair(f"{word} {names.gauge(gauge)}", names.amount(value, gauge))


def _counters(facts: _Facts) -> Iterator[Pair]:
    """Where each counter stood after its last change in this session."""
    latest: dict[str, dict[str, str]] = {}
    for _, fact in facts:
        data = dict(fact.data)
        if "counter" in data and "count" in data and fact.fact.startswith("count"):
            latest[data["counter"]] = data
    for name, data in latest.items():
        on = f", {clock(float(data['on']))} on" if "on" in data else ""
        yield Pair(plain(name), f"{data['count']}{on}")


GRAVE_WORDS = {WARNING: "warning", CAUTION: "caution", NOTE: ""}
"""Said beside the colour, so that a print without colours says the same."""
