"""Lines that are none are told once; a flood is thinned, never where a limit is passed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from feed_lines import HEAT, steady, table, told, values, watched

from callout.checklist.model import Band, Limit
from callout.engine.events import FeedFault
from callout.gauges.feed.watch import FeedWatch


def test_malformed_lines_are_counted_and_told_once_with_the_first_one_s_number():
    watch = FeedWatch([HEAT], paced=False)
    lines = ["time,heat", "0,20", "what", "0.1,x", "0.2,20", "0.3", *["garbage"] * 100]
    events = [e for n, line in enumerate(lines, 1) for e in watch.line(n, line.encode(), 0.0)]

    assert [
        FeedFault("", "line", "Line 3 of the feed was not understood: it has 1 columns; "
                              "the head has 2.")
    ] == [e for e in events if isinstance(e, FeedFault)]  # fmt: skip
    assert 103 == watch.malformed
    assert 106 == watch.lines


def test_an_object_without_any_key_is_a_malformed_line_also_as_the_first():
    """Found by the fuzzer: as the first line it stopped the feed."""
    watch = FeedWatch([HEAT], paced=False)

    assert "Line 1 of the feed was not understood: it has 0 keys; expected 1 to 64." == (
        watch.line(1, b"{}", 0.0)[0].what  # type: ignore[union-attr]
    )
    assert [] == told(watch.line(2, b'{"heat": 20}', 0.1))


def test_a_line_that_is_too_long_is_a_malformed_one():
    watch = FeedWatch([HEAT], paced=False)

    assert "Line 7 of the feed was not understood: it is longer than 4096 bytes." == (
        watch.line(7, None, 0.0)[0].what  # type: ignore[union-attr]
    )


LIMITED = replace(
    HEAT,
    limits=(Limit(never=Band(at_most=Decimal(700))),),  # type: ignore[arg-type]
)


def test_a_fast_feed_is_thinned_but_never_where_a_limit_is_passed():
    """One sample in a hundred is beyond the limit: each of them goes through."""
    beyond = lambda at: 705.0 if round(at * 100) % 100 == 50 else 695.0  # noqa: E731
    events = watched([LIMITED], table({"heat": beyond}, 60))
    over = [at for at, value in values(events, "heat") if value > 700]

    assert 59 <= len(over) <= 60
    assert 24 * 60 <= len(values(events, "heat")) <= 30 * 60


def test_a_flood_that_crosses_a_limit_at_each_line_stays_bounded():
    """Ten thousand lines a second, as whoever reaches the port may send."""
    lines = table({"heat": lambda at: 699.0 + 2.0 * (round(at * 1e4) % 2)}, 5.0, 1e4)
    watch = FeedWatch([LIMITED], paced=True)
    events = [e for n, one in enumerate(lines, 1) for e in watch.line(n, one.encode(), n / 1e4)]

    assert 900 <= len(values(events, "heat")) <= 1300


def test_heads_without_end_are_told_twice_a_second_at_most_and_take_no_room():
    watch = FeedWatch([LIMITED], paced=True)
    heads = ('{"heat [bar]": 1}', '{"heat [V]": 1}', '{"heat [degC]": 600}')
    lines = [*(heads[n % 3] for n in range(900)), *(f'{{"x{n}": 1}}' for n in range(900))]
    events = [e for n, one in enumerate(lines, 1) for e in watch.line(n, one.encode(), n / 100)]

    assert len([e for e in events if isinstance(e, FeedFault) and e.kind == "unit"]) <= 18
    assert 64 == len(watch.notes)


def test_a_gauge_without_hurried_limits_comes_ten_times_a_second():
    assert 99 <= len(values(watched([HEAT], table({"heat": steady(600, 2)}, 10.5)), "heat")) <= 101


def test_one_may_listen_in_to_a_stream_that_has_begun():
    """A cut line, rows whose head comes later, and then the head."""
    watch = FeedWatch([HEAT], paced=True)
    lines = ["5,60", "10,601", "10.1,602", "time,heat", *(f"{n / 10},600" for n in range(99))]
    events = [e for n, line in enumerate(lines) for e in watch.line(n, line.encode(), n / 10)]

    assert [] == told(events)
    assert 3 == watch.malformed
    assert values(events, "heat")
