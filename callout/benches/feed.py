"""A long feed replayed through the engine, limits and logbook: how long it takes.

Rule of this file: the real parts in the real order (file, feed, engine, logbook), in
recording time, with nobody speaking. The same lines are also only parsed, and only
judged, in the same run, so that the figures can be set against one another.
"""

from __future__ import annotations

import io
import math
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.checklist.model import (
    Aircraft,
    Ask,
    Await,
    Band,
    CheckList,
    Condition,
    Item,
    Section,
)
from callout.ear.keys_ear import KeysEar
from callout.engine.events import SessionOpened
from callout.engine.session import Session
from callout.gauges.feed.lines import Lines
from callout.gauges.feed.parsing import Parser
from callout.gauges.feed.simulated import lines
from callout.gauges.feed.watch import FeedWatch
from callout.gauges.simulator import Machine, Plan
from callout.logbook.store import Logbook
from callout.running.clock import RecordingClock
from callout.running.conductor import SETTLED_RECORDED, Conductor, Written
from callout.running.feeding import RecordedFeed
from callout.running.mouth import Mouth
from callout.running.outputs import Nowhere
from callout.running.recorded import Recorded
from callout.running.screen import Transcript

STARTED = Decimal(60)
"""Per cent of gas generator speed from which the limits of a running engine hold."""


OPENED = SessionOpened(("bench-start", "bench-run"))


@dataclass(frozen=True, slots=True)
class FeedFigures:
    """What one replay took.

    Fields:
        lines: how many there were
        parsing: seconds to parse all of them
        judging: seconds to parse them and find what is a value
        whole: seconds for that, the engine with its limits, and the logbook
        processor: seconds of it in which this process had the processor
        readings: values the engine was given
        megabytes: the logbook afterwards
    """

    lines: int
    parsing: float
    judging: float
    whole: float
    processor: float
    readings: int
    megabytes: float


def make(file: Path, minutes: float, rate: float) -> None:
    """A start, a flight and a shutdown of the simulated machine, so long and so fast."""
    seconds = 60.0 * minutes
    flying = max(0.0, seconds - 300.0)
    plan = Plan(fly_after=30.0, fly_for=flying, fuel_off=max(60.0, seconds - 120.0))
    with open(file, "w", encoding="utf-8") as out:
        out.writelines(f"{line}\n" for line in lines(Machine(), plan, seconds, rate=rate))


def measure(file: Path, aircraft: Aircraft, logbook: Path) -> FeedFigures:
    """Replay the file three times: parsed, judged, and through everything."""
    count, parsing = _parsed(file)
    readings, judging, end = _judged(file, aircraft)
    began, busy = time.perf_counter(), time.process_time()
    _replayed(file, _watching(aircraft), logbook, end)
    whole, busy = time.perf_counter() - began, time.process_time() - busy
    size = sum(one.stat().st_size for one in logbook.parent.glob(f"{logbook.name}*"))
    return FeedFigures(count, parsing, judging, whole, busy, readings, size / 1e6)


def _raw(file: Path) -> Iterator[tuple[int, bytes | None]]:
    cut = Lines()
    with open(file, "rb") as data:
        while chunk := data.read(65536):
            for line in cut.take(chunk):
                yield cut.number, line


def _parsed(file: Path) -> tuple[int, float]:
    parser, count, began = Parser(), 0, time.perf_counter()
    for _, line in _raw(file):
        if line is not None and parser.line(line) is not None:
            count += 1
    return count, time.perf_counter() - began


def _judged(file: Path, aircraft: Aircraft) -> tuple[int, float, float]:
    """How many readings, how long it took (s), and the time of the last line (s)."""
    watch, readings, end = FeedWatch(aircraft.gauges, paced=False), 0, 0.0
    began = time.perf_counter()
    for number, line in _raw(file):
        row, events = watch.read(number, line)
        if row is not None:
            end = row.time or end
            readings += len(watch.row(row, 0.0)) + len(events)
    return readings, time.perf_counter() - began, end


def _watching(aircraft: Aircraft) -> Aircraft:
    """The aircraft with two lists: one while it starts, one while it runs; nobody answers."""
    states = [limit.state for gauge in aircraft.gauges for limit in gauge.limits]
    start = "start" if "start" in states else "any"
    running = "running" if "running" in states else "any"
    speed = aircraft.gauge("gas-generator-speed")
    up = Item("started", speed.call, Await(Condition(speed.id, Band(at_least=STARTED))))
    stay = Item("stay", "stay", Ask(("done",)))
    lists = (
        CheckList("bench-start", "bench start", (Section("", (up,)),), engine_state=start),
        CheckList("bench-run", "bench run", (Section("", (stay,)),), engine_state=running),
        *aircraft.lists,
    )
    return replace(aircraft, lists=lists)


def _replayed(file: Path, aircraft: Aircraft, logbook: Path, end: float) -> None:
    clock, ear = RecordingClock(), KeysEar(lambda: 0.0)  # to which sound is nothing
    with Logbook.open(logbook) as book:
        number = book.begin(aircraft.name, aircraft.revision, str(file), "bench", clock.stamp(0.0))
        written = Written(book, number, SETTLED_RECORDED)
        mouth = Mouth(None, Nowhere(), lambda why: None)
        conductor = Conductor(
            Session(aircraft), written, clock, mouth, ear.listen_for, Transcript(io.StringIO())
        )
        feed = RecordedFeed(file, aircraft.gauges)
        Recorded(conductor, clock, ear, _silence(end), [], [], feed).run(OPENED)
        book.finish(number, "ended", clock.stamp(clock.now()))


def _silence(seconds: float) -> Iterator[AudioBlock]:
    """A recording in which nobody speaks, in blocks of a second."""
    block = np.zeros(100, np.float32)
    for second in range(math.ceil(seconds)):
        yield AudioBlock(block, 100, float(second))
