"""The sender's clock against ours: what drifts, leaps or comes late is told, and nothing else."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
from feed_lines import HEAT, told, values

from callout.engine.events import Event, FeedFault
from callout.gauges.feed.clock import SendersClock
from callout.gauges.feed.watch import FeedWatch


def run(
    sent: Callable[[float], float],
    delay: Callable[[float], float] = lambda at: 0.0,
    seconds: float = 90.0,
    rate: float = 20.0,
) -> tuple[list[Event], list[float]]:
    """Events, and the times given to lines that were true at n / rate."""
    watch, clock = FeedWatch([HEAT], paced=True), SendersClock()
    shaken = random.Random(7)
    events: list[Event] = []
    given: list[float] = []
    watch.line(1, b"time,heat", 0.0)
    came = 0.0
    for n in range(round(seconds * rate)):
        at = n / rate
        came = max(came, at + delay(at) + shaken.uniform(0.001, 0.02))
        line = f"{sent(at):.4f},{600 + shaken.gauss(0, 2):.2f}".encode()
        events += watch.line(n + 2, line, came)
        given.append(clock.when(float(f"{sent(at):.4f}"), came) - at)
    return events, given


@pytest.mark.parametrize("zero", [0.0, -1e6, 1.7e9])
def test_a_sound_clock_is_told_nothing_about_wherever_it_counts_from(zero):
    """And half of the 19 ms of jitter on the way is taken out, or more."""
    events, given = run(lambda at: zero + at)

    assert [] == told(events)
    settled = given[200:]
    assert max(settled) - min(settled) < 0.0095


def test_a_wrist_watch_s_drift_is_no_fault():
    """20 parts in a million: 10 s a week (common practice, no source)."""
    assert [] == told(run(lambda at: at * 1.00002, seconds=600.0, rate=5.0)[0])


@pytest.mark.parametrize(("pace", "word"), [(1.03, "fast"), (0.97, "slow"), (2.0, "fast")])
def test_a_clock_that_runs_wrong_is_told_once(pace, word):
    events, _ = run(lambda at: at * pace)
    faults = [e for e in events if isinstance(e, FeedFault)]

    assert [("", "clock")] == [pair for pair in told(events) if pair[1] != "good"]
    assert faults[0].what.startswith("the sender's clock runs")
    assert faults[0].what.endswith(word)


@pytest.mark.parametrize(("leap", "word"), [(-3.0, "went back by"), (5.0, "leapt ahead by")])
def test_a_clock_that_was_set_is_told_once_and_good_again_after_a_while(leap, word):
    events, _ = run(lambda at: at if at < 40 else at + leap, seconds=60.0)
    faults = [e for e in events if isinstance(e, FeedFault)]

    assert [("", "clock"), ("", "good")] == told(events)
    assert word in faults[0].what
    assert len(values(events, "heat")) > 550  # its values go on, by our own clock


def test_lines_that_tell_of_the_past_are_no_values():
    """A network that holds everything back for 6 s, and then lets it through at once."""
    events, _ = run(lambda at: at, lambda at: max(0.0, 46.0 - at) if at >= 40 else 0.0, 60.0)

    assert [("", "late"), ("", "good")] == told(events)
    assert [] == [at for at, _ in values(events, "heat") if 40.1 < at < 43.9]


def test_lines_that_come_a_little_late_are_values():
    events, _ = run(lambda at: at, lambda at: max(0.0, 41.5 - at) if at >= 40 else 0.0, 60.0)

    assert [] == told(events)


def test_the_time_that_is_given_never_falls():
    chance = random.Random(3)
    clock, before = SendersClock(), float("-inf")
    came = 0.0
    for _ in range(3000):
        came += chance.uniform(0.0, 0.1)
        sent = came * chance.choice([1.0, 1.0, 1.0, 0.5, 2.0]) + chance.uniform(-3, 3)
        at = clock.when(chance.choice([sent, None]), came)
        assert before <= at <= came
        before = at


def test_a_file_whose_times_go_back_is_told_and_read_on():
    watch = FeedWatch([HEAT], paced=False)
    lines = ["time,heat", *(f"{n / 10},{600 + n % 3}" for n in [*range(40), *range(20, 80)])]
    events = [e for n, line in enumerate(lines, 1) for e in watch.line(n, line.encode(), 0.0)]
    times = [at for at, _ in values(events, "heat")]

    assert ("", "clock") in told(events)
    assert sorted(times) == times
