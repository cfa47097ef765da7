"""Units of a feed: pint's figures, and figures of public tables."""

from __future__ import annotations

import subprocess
import sys

import pint
import pytest
from feed_lines import HEAT, OIL, PRESSURE, gauge, table, told, values, watched

from callout.checklist.model import Feed
from callout.checklist.units import FEED_UNITS, same_kind
from callout.gauges.feed.columns import bind
from callout.gauges.feed.parsing import Name
from callout.gauges.feed.units import PINT, conversion

REGISTRY = pint.UnitRegistry(cache_folder=None)


@pytest.mark.parametrize(
    ("value", "given", "wanted", "expected"),
    [
        # NIST SP 811 (2008), appendix B.8: exact factors and fixed points.
        (32.0, "degF", "degC", 0.0),
        (212.0, "degF", "degC", 100.0),
        (-40.0, "degF", "degC", -40.0),
        (273.15, "K", "degC", 0.0),
        (1.0, "psi", "Pa", 6894.757),
        (1.0, "inHg", "Pa", 3386.389),
        (1.0, "gal", "l", 3.785412),
        (1.0, "lb", "kg", 0.45359237),
        (1.0, "ft", "m", 0.3048),
        (1.0, "kt", "ft/min", 101.2686),
        (24_500.0, "mV", "V", 24.5),
        (50.0, "%", "1", 0.5),
        (6000.0, "rpm", "Hz", 100.0),
    ],
)
def test_values_convert_as_the_tables_say(value, given, wanted, expected):
    assert expected == pytest.approx(conversion(given, wanted).of(value), rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("given", FEED_UNITS)
def test_every_pair_of_one_kind_converts_as_pint_does(given):
    for wanted in same_kind(given):
        here, there = (REGISTRY.Unit(PINT.get(one, one)) for one in (given, wanted))
        for value in (-40.0, 0.0, 17.3, 1000.0):
            exact = REGISTRY.Quantity(value, here).to(there).magnitude
            assert exact == pytest.approx(conversion(given, wanted).of(value), rel=1e-9, abs=1e-9)


def test_a_turn_is_counted_and_is_no_angle():
    """pint's own rpm is 2 pi radians a minute: 60 of them would be 6.28 Hz."""
    assert 6.283 == pytest.approx(REGISTRY.Quantity(60, "rpm").to("Hz").magnitude, rel=1e-3)
    assert 1.0 == pytest.approx(conversion("rpm", "Hz").of(60.0))


def test_a_feed_in_the_gauges_own_units_never_imports_pint():
    """Its import costs a third of a second."""
    code = (
        "import sys; from decimal import Decimal;"
        "from callout.checklist.model import Band, Gauge;"
        "from callout.gauges.feed.watch import FeedWatch;"
        "g = Gauge('a', 'a', 'V', (), Band(Decimal(0), Decimal(30)));"
        "w = FeedWatch([g], paced=False);"
        "[w.line(n, l, 0.0) for n, l in enumerate([b'time,a'] + [b'%d,24' % n for n in range(9)])];"
        "assert w.lines == 10 and 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


def test_the_sender_s_own_unit_goes_before_the_file_s():
    """212 degF is 100 degC (NIST SP 811)."""
    one = gauge("heat", feed=Feed(unit="K"))
    stated = watched([one], table({"heat [degF]": lambda at: 212.0}, 1))
    assumed = watched([one], table({"heat": lambda at: 373.15}, 1))

    assert 100.0 == values(stated, "heat")[-1][1]
    assert 100.0 == values(assumed, "heat")[-1][1]


def test_a_column_is_found_by_its_name_in_the_file_capitals_aside():
    one = gauge("heat", feed=Feed("EGT 1"))

    assert ["heat"] == [b.gauge for b in bind([Name("egt 1"), Name("heat")], [one]).bound]


def test_a_column_that_is_no_gauge_is_told_with_the_nearest_one():
    assert ('the column "het" is no gauge of this aircraft; did you mean "heat"?',) == bind(
        [Name("het")], [HEAT]
    ).unknown


@pytest.mark.parametrize(
    ("head", "why"),
    [
        ("heat [bar]", 'the column "heat" comes in bar, which cannot be converted into degC'),
        ("heat [degX]", 'the column "heat" comes in degX, which is no unit known here'),
    ],
)
def test_a_unit_of_another_kind_is_a_fault_and_gives_no_values(head, why):
    events = watched([HEAT, OIL], table({head: lambda at: 20.0, "oil": lambda at: 20.0}, 2))

    assert [("heat", "unit")] == told(events)
    assert why in next(e.what for e in events if hasattr(e, "what"))
    assert [] == values(events, "heat")
    assert values(events, "oil")


def test_a_feed_without_any_gauge_is_told_once():
    assert [("", "line")] == told(watched([HEAT], table({"b": lambda at: 1.0}, 3)))


@pytest.mark.parametrize(
    ("columns", "wrong"),
    [
        # A cold machine at 20 degC: 68 degF, 293.15 K.
        ({"heat": 68.0, "oil": 20.0}, ["heat"]),
        ({"heat": 293.15, "oil": 20.0}, ["heat"]),
        ({"heat": 68.0, "oil": 68.0}, ["heat", "oil"]),
        ({"heat": -4.0, "oil": 24.8}, ["oil"]),
        # 45 psi is 3.1 bar; 310 kPa as well.
        ({"pressure": 45.0}, ["pressure"]),
        ({"pressure": 310.0}, ["pressure"]),
        # Sound: cold, hot after a flight, hot day, all alike at 50.
        ({"heat": 20.0, "oil": 20.4}, []),
        ({"heat": 310.0, "oil": 61.0}, []),
        ({"heat": 44.0, "oil": 43.0, "pressure": 0.0}, []),
        ({"heat": 50.0, "oil": 50.0}, []),
        ({"heat": 20.0}, []),
    ],
)
def test_values_that_fit_another_unit_far_better_are_in_doubt_at_the_start(columns, wrong):
    gauges = [g for g in (HEAT, OIL, PRESSURE) if g.id in columns]
    lines = table({name: (lambda at, v=value: v) for name, value in columns.items()}, 3)
    events = watched(gauges, lines)

    doubted = [name for name, kind in told(events) if kind == "unit"]
    assert set(wrong) <= set(doubted)
    assert set(doubted) <= {"heat", "oil", "pressure"}
    assert bool(wrong) == bool(doubted)
    for name in doubted:
        assert [] == values(events, name)


def test_a_unit_that_the_sender_wrote_is_believed():
    lines = table({"heat [degC]": lambda at: 68.0, "oil [degC]": lambda at: 20.0}, 3)

    assert [] == told(watched([HEAT, OIL], lines))


def test_of_two_that_disagree_the_one_that_was_converted_is_the_one():
    """The file says degF; the sender gives degrees Celsius all the same: 20 read as -6.7."""
    one = gauge("heat", feed=Feed(unit="degF"))
    lines = table({"heat": lambda at: 20.0, "oil": lambda at: 20.0}, 3)

    assert [("heat", "unit")] == told(watched([one, OIL], lines))


def test_a_new_head_with_the_right_unit_makes_a_gauge_good_again():
    wrong = table({"heat [bar]": lambda at: 20.0, "oil": lambda at: 20.0}, 2)
    right = table({"heat": lambda at: 20.0}, 2)
    later = [right[0], *(f"{float(t) + 3:.3f},{v}" for t, v in (r.split(",") for r in right[1:]))]
    events = watched([HEAT, OIL], [*wrong, *later])

    assert [("heat", "unit"), ("heat", "good")] == [t for t in told(events) if t[0] == "heat"]
    assert values(events, "heat")


def test_a_head_that_was_wrong_for_a_while_leaves_no_fault_behind():
    """Good, then in bar, then good again: the fault is over with the last head's first values."""
    tables = [table({head: lambda at: 20.0}, 2) for head in ("heat", "heat [bar]", "heat")]
    lines = []
    for n, (head, *rows) in enumerate(tables):
        lines += [head, *(f"{float(row.split(',')[0]) + 3 * n:.3f},20" for row in rows)]
    events = watched([HEAT], lines)

    about = [kind for kind in told(events) if kind != ("heat", "silent")]
    assert ("heat", "unit") == about[0]
    assert {("heat", "good")} == set(about[1:])
    assert values(events, "heat")[-1][0] > 7.0
