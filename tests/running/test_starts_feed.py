"""A hot start by the simulator through a feed that is ill-treated, and the watch over it.

Rule of this file: bytes go in as they would come from a wire, each at its own time; the
simulated exhaust's own curve says when the limit is passed (invented machine).
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache
from itertools import islice
from pathlib import Path

import pytest

from callout.benches.starts_run import FEED, ready
from callout.checklist.load import load
from callout.engine.effects import Priority, Record, Say
from callout.engine.events import Event, Heard, Lost, Restored
from callout.engine.session import Session
from callout.gauges.feed.watch import FeedWatch
from callout.gauges.simulator import Faults, Machine, readings, samples, standard_air
from callout.gauges.simulator.readings import EXHAUST
from callout.gauges.simulator.reedlark import REEDLARK, REEDLARK_PLAN

REEDLARK_FILE = load(Path(__file__).parents[2] / "checklists" / "reedlark.yaml")
HEAD = ("time," + ",".join(FEED)).encode()
LIMIT = 800.0  # never-exceed in the example's start
STEP = 0.05
Line = tuple[float, "bytes | Event"]


@cache
def hot() -> tuple[tuple[float, tuple[float, ...]], ...]:
    """Times and gauges of a start with far too much fuel, up to some seconds after the limit."""
    machine = Machine(REEDLARK, standard_air(0.0), Faults(fuel_excess=1.9))
    course = islice(samples(machine, REEDLARK_PLAN, dt=STEP), 240)
    rows = []
    for sample in course:
        honest = readings(machine, sample.state)
        rows.append((sample.at, tuple(honest[name] for name in FEED)))
    return tuple(rows)


def passed_at() -> float:
    place = FEED.index(EXHAUST)
    return next(at for at, values in hot() if values[place] > LIMIT)


def row(at: float, values: tuple[float, ...], sent: float) -> Line:
    return at, (f"{sent:.2f}," + ",".join(f"{one:.2f}" for one in values)).encode()


def untouched() -> Iterator[Line]:
    yield 0.0, HEAD
    for at, values in hot():
        yield row(at, values, at)


def with_garbage() -> Iterator[Line]:
    """Noise, half lines, other numbers of columns and words between all lines."""
    chance = random.Random(7)
    for at, line in untouched():
        yield at, line
        for junk in (
            chance.randbytes(60),
            b'{"time": 1,',
            b"1,2",
            b"nan,inf,-,x,",
            bytes(line)[:9],
        ):
            yield at, junk


def from_a_sender_that_began_anew() -> Iterator[Line]:
    """Its clock begins at 0 again, two seconds before the limit is passed."""
    anew = passed_at() - 2.0
    yield 0.0, HEAD
    for at, values in hot():
        if anew <= at < anew + STEP:
            yield at, HEAD
        yield row(at, values, at - anew if at >= anew else at)


def many_at_once() -> Iterator[Line]:
    """The lines of 0.6 s come together, up to just before the limit is passed."""
    until = passed_at() - 0.1
    for at, line in untouched():
        yield (until if until - 0.6 < at < until else at), line


def broken_and_back() -> Iterator[Line]:
    """Cut within a line, nothing for two and a half seconds, and there again before it is hot."""
    until = passed_at() - 1.5
    for at, line in untouched():
        if not until - 2.5 < at < until:
            yield at, line
        elif at < until - 2.5 + STEP:
            yield at, Lost("feed", "pulled out")
        elif at > until - STEP:
            yield at, Restored("feed")


def one_cell_at_times_missing() -> Iterator[Line]:
    """Every third line has no exhaust temperature."""
    place = FEED.index(EXHAUST) + 1
    for count, (at, line) in enumerate(untouched()):
        cells = bytes(line).split(b",")
        if count % 3 == 1:
            cells[place] = b""
        yield at, b",".join(cells)


def called(lines: Iterator[Line]) -> tuple[str, float, list[str]]:
    """The fault that was called, when, and what was said first in that very step."""
    session = Session(REEDLARK_FILE)
    session.state = ready(REEDLARK_FILE)
    zero = session.state.now
    feed = FeedWatch(REEDLARK_FILE.gauges, paced=True, now=zero)
    words = [(3.0, "engaged"), (8.8, "opened")]
    for number, (at, line) in enumerate(lines):
        now = zero + at
        events = feed.line(number + 1, line, now) if isinstance(line, bytes) else [line]
        while words and words[0][0] <= at:
            serial = session.state.grammar.serial
            events.append(Heard(words.pop(0)[1], 1.0, serial, now - 0.4, now, "test"))
        for event in events:
            effects = session.handle(event, now)
            for one in effects:
                if isinstance(one, Record) and one.fact == "start fault":
                    said = [e.text for e in effects if isinstance(e, Say)
                            and e.priority is Priority.ABORT]  # fmt: skip
                    return dict(one.data)["fault"], at, said
    return "", float("inf"), []


WAYS = [
    untouched,
    with_garbage,
    from_a_sender_that_began_anew,
    many_at_once,
    broken_and_back,
    one_cell_at_times_missing,
]


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
def test_a_hot_start_is_called_whatever_the_feed_went_through(way):
    fault, at, said = called(way())

    assert "hot-start" == fault
    assert at <= passed_at() + 1.0
    assert ["Abort, fuel lever. Hot start."] == said
