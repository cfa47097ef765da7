"""Record, replay and show a feed, outside a session.

Rule of this file: it reads clocks and writes files; what a line means is
decided in gauges/feed.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from callout.checklist.model import Gauge
from callout.engine.events import FeedFault, FeedGood, Reading
from callout.gauges.feed.lines import Lines
from callout.gauges.feed.parsing import Malformed, Parser, Row
from callout.gauges.feed.places import Place, Way
from callout.gauges.feed.problems import FeedProblem
from callout.gauges.feed.recording import Written, rows, titled
from callout.gauges.feed.sources import chunks
from callout.gauges.feed.targets import Target
from callout.gauges.feed.watch import FeedWatch
from callout.running.clock import boot_seconds

FLUSHED = 1.0
"""Seconds after which what came is in the file."""


@dataclass
class Recorded:
    """What came of a recording: how many lines were written, and what was not understood."""

    lines: int = 0
    malformed: int = 0
    first: str = ""


def _lines(place: Place, seconds: float | None) -> Iterator[tuple[float, int, bytes | None]]:
    """(seconds since the beginning, number, line); number 0 when nothing came for a moment."""
    lines, began = Lines(), boot_seconds()
    for chunk in chunks(place):
        now = boot_seconds() - began
        if seconds is not None and now > seconds:
            return
        if chunk is None:
            yield now, 0, None
            continue
        for line in lines.take(chunk):
            yield now, lines.number, line
    for line in () if place.again else lines.end():  # a connection that breaks cuts its last
        yield boot_seconds() - began, lines.number, line


def record(
    place: Place, file: Path, seconds: float | None, told: Callable[[Recorded], None]
) -> Recorded:
    """Write what comes from a place to a file that is not there yet.  Raises FeedProblem."""
    parser, written, found, flushed = Parser(), Written(), Recorded(), 0.0
    try:
        with open(file, "x", encoding="utf-8", newline="\n") as out:
            for now, number, line in _lines(place, seconds):
                row = _parsed(parser, found, number, line)
                if row is not None:
                    out.writelines(f"{text}\n" for text in written.lines(row, now))
                    found.lines += 1
                if now - flushed > FLUSHED:
                    out.flush()
                    flushed = now
                    told(found)
    except FileExistsError:
        raise FeedProblem(
            f"{file} is there already and is left as it is: give a new name."
        ) from None
    except OSError as error:
        raise FeedProblem(f"{file} cannot be written: {error.strerror}.") from None
    except KeyboardInterrupt:
        pass  # the way to stop it
    return found


def _parsed(parser: Parser, found: Recorded, number: int, line: bytes | None) -> Row | None:
    if number == 0:
        return None
    try:
        if line is None:
            raise Malformed("it is too long")
        return parser.line(line)
    except Malformed as why:
        found.malformed += 1
        found.first = found.first or f"line {number}: {why}"
        return None


def replay(file: Path, target: Target, speed: float | None) -> int:
    """Send a recorded feed at its own pace, or `speed` times that (None: at once); rows sent."""
    began, first, sent = boot_seconds(), None, 0
    for _, row, _ in rows(file):
        if row is None:
            continue
        if row.time is not None and speed is not None:
            first = row.time if first is None else first
            wait = (row.time - first) / speed - (boot_seconds() - began)
            if wait > 0:
                time.sleep(wait)
        target.send(row)
        sent += 1
    return sent


@dataclass
class Shown:
    """The latest of a feed.

    Fields:
        values: column or gauge -> (what is shown, seconds since the beginning)
        faults: sentences about what is no value at present
        lines, malformed: how many came
        rate: lines a second, lately
    """

    values: dict[str, tuple[str, float]] = field(default_factory=dict)
    faults: dict[str, str] = field(default_factory=dict)
    lines: int = 0
    malformed: int = 0
    rate: float = 0.0
    at: float = 0.0


def show(
    place: Place, gauges: Iterable[Gauge] | None, seconds: float | None, every: float
) -> Iterator[Shown]:
    """The latest values each `every` seconds; of an aircraft's gauges, or of all columns."""
    known = {gauge.id: gauge for gauge in gauges or ()}
    watch = FeedWatch(known.values(), paced=place.way is not Way.FILE) if known else None
    parser, shown, next_at, counted = Parser(), Shown(), every, 0
    for now, number, line in _lines(place, seconds):
        shown.at = now
        if watch is not None:
            _through(watch, known, shown, now, number, line)
        elif number:
            _plain(parser, shown, now, number, line)
        if now >= next_at:
            shown.rate = (shown.lines - counted) / (now - next_at + every)
            counted, next_at = shown.lines, now + every
            yield shown
    yield shown


def _plain(parser: Parser, shown: Shown, now: float, number: int, line: bytes | None) -> None:
    found = Recorded()
    row = _parsed(parser, found, number, line)
    shown.lines += 1
    shown.malformed += found.malformed
    if found.first:
        shown.faults.setdefault("line", found.first)
    for name, value in zip(row.names, row.values, strict=True) if row is not None else ():
        shown.values[titled(name)] = ("-" if value is None else f"{value:g}", now)


def _through(
    watch: FeedWatch, known: dict[str, Gauge], shown: Shown, now: float, number: int,
    line: bytes | None,
) -> None:  # fmt: skip
    events = []
    if number:
        events = watch.line(number, line, now)
    else:
        watch.look(now, events)
    shown.lines, shown.malformed = watch.lines, watch.malformed
    for event in events:
        if isinstance(event, Reading):
            gauge = known[event.gauge]
            text = f"{round(event.value, gauge.decimals)} {gauge.unit}"
            shown.values[gauge.call] = (text, now)
        elif isinstance(event, FeedFault):
            shown.faults[f"{event.gauge}/{event.kind}"] = event.what or event.kind
        elif isinstance(event, FeedGood):
            for key in [k for k in shown.faults if k.startswith(f"{event.gauge}/")]:
                del shown.faults[key]
