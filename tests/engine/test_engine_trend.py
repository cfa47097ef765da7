"""Slopes against numpy.polyfit and scipy.stats.linregress; what is no slope."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from callout.engine import trend
from callout.engine.trend import EMPTY, LEAST, LONGEST_GAP, SECONDS, Window, add, fit, slope

Samples = list[tuple[float, float]]


def window_of(samples: Samples) -> Window:
    window = EMPTY
    for at, value in samples:
        window = add(window, at, value)
    return window


def feed(hz: float, values: list[float], begins: float = 0.0) -> Samples:
    """Values sampled evenly."""
    return [(begins + i / hz, value) for i, value in enumerate(values)]


@st.composite
def feeds(draw: st.DrawFn) -> Samples:
    """Samples at 1 to 100 Hz, unevenly spaced, never so far apart that it is a gap."""
    hz = draw(st.sampled_from([1.0, 3.0, 10.0, 50.0, 100.0]))
    steps = draw(st.lists(st.floats(0.4, 1.6), min_size=1, max_size=400))
    level = st.floats(-1000.0, 1000.0)
    values = draw(st.lists(level, min_size=len(steps), max_size=len(steps)))
    times = np.cumsum(np.array(steps) / hz) + draw(st.floats(0.0, 1e5))
    return list(zip(times.tolist(), values, strict=True))


@given(feeds())
def test_the_slope_is_that_of_numpy_and_scipy_over_the_samples_kept(samples: Samples):
    window = window_of(samples)
    found = fit(window)
    if found is None:
        return
    kept = np.array(samples[-window.samples :])
    times, values = kept[:, 0] - kept[-1, 0], kept[:, 1]
    by_numpy = np.polyfit(times, values, 1)
    by_scipy = stats.linregress(times, values)

    assert pytest.approx(by_numpy[0], rel=1e-6, abs=1e-5) == found.slope
    assert pytest.approx(by_numpy[1], rel=1e-6, abs=1e-5) == found.value
    assert pytest.approx(by_scipy.slope, rel=1e-6, abs=1e-5) == found.slope
    if np.ptp(values) > 1e-3:
        assert pytest.approx(by_scipy.rvalue**2, abs=1e-6) == found.explained
    assert slope(window) == found.slope


@given(feeds())
def test_a_window_holds_the_last_second_or_the_last_few_samples(samples: Samples):
    """All samples of the last `seconds`, and of older ones at most a bin, or the last few."""
    window = window_of(samples)
    ages = [samples[-1][0] - at for at, _ in samples]
    older = [age for age in ages[-window.samples :] if age > SECONDS]

    assert window.samples >= min(len(samples), LEAST)
    assert window.samples >= sum(age < SECONDS - 1e-6 for age in ages)
    if older and window.samples - window.bins[0].samples >= LEAST:
        assert max(older) - min(older) <= SECONDS / trend.BINS + 1e-6


@pytest.mark.parametrize("hz", [1.0, 2.0, 10.0, 33.0, 100.0])
def test_a_straight_line_has_its_own_slope_at_any_rate(hz: float):
    found = fit(window_of(feed(hz, [20.0 + 30.0 * i / hz for i in range(400)])))

    assert found is not None
    assert pytest.approx(30.0) == found.slope
    assert pytest.approx(20.0 + 30.0 * 399 / hz) == found.value
    assert found.steady


def test_hand_worked_line():
    """Values 1, 2, 4, 5 at 0 .. 3 s: means 1.5 and 3, sums 7 and 5, slope 1.4; R2 = 49/50.

    The line stands at 3 + 1.4 x 1.5 = 5.1 at the end.
    """
    found = fit(window_of([(0.0, 1.0), (1.0, 2.0), (2.0, 4.0), (3.0, 5.0)]))

    assert found is not None
    assert pytest.approx((1.4, 5.1, 0.98, 3.0, 4)) == tuple(found)


@given(level=st.floats(-1e4, 1e4), hz=st.sampled_from([1.0, 7.0, 100.0]))
def test_a_constant_has_no_slope(level: float, hz: float):
    found = fit(window_of(feed(hz, [level] * 300)))

    assert found is not None
    assert pytest.approx(0.0, abs=1e-9 * (1 + abs(level))) == found.slope


@given(feeds(), st.floats(-1e4, 1e4), st.floats(-500.0, 500.0))
def test_time_and_level_shift_nothing(samples: Samples, later: float, higher: float):
    before = window_of(samples)
    after = window_of([(at + later, value + higher) for at, value in samples])
    if before.samples != after.samples:  # a sample at the very edge of a bin
        return
    one, other = slope(before), slope(after)

    assert (one is None) is (other is None)
    if one is not None:
        assert pytest.approx(one, rel=1e-4, abs=1e-3) == other


@given(
    before=st.integers(0, 200),
    after=st.integers(1, 200),
    high=st.floats(0.5, 1000.0),
    hz=st.sampled_from([1.0, 2.5, 10.0, 100.0]),
)
def test_a_jump_is_never_a_steady_slope(before: int, after: int, high: float, hz: float):
    """A wild value or a loose contact: no gauge that is sound moves like that."""
    window = EMPTY
    for at, value in feed(hz, [10.0] * before + [10.0 + high] * after):
        window = add(window, at, value)
        found = fit(window)
        assert found is None or not found.steady


@given(place=st.integers(0, 40), high=st.floats(1.0, 1e6), hz=st.sampled_from([1.0, 10.0, 100.0]))
def test_a_single_wild_sample_is_never_a_steady_slope(place: int, high: float, hz: float):
    values = [10.0] * 41
    values[place] += high
    window = EMPTY
    for at, value in feed(hz, values):
        window = add(window, at, value)
        found = fit(window)
        assert found is None or not found.steady


def test_a_gap_empties_the_window_and_a_lost_sample_does_not():
    at_1_hz = window_of([(0.0, 1.0), (1.0, 2.0), (3.0, 4.0), (4.0, 5.0)])
    gap = window_of([*feed(10.0, [5.0] * 30), (2.9 + LONGEST_GAP + 0.1, 9.0)])

    assert pytest.approx(1.0) == slope(at_1_hz)
    assert (1, None) == (gap.samples, slope(gap))


def test_a_sample_that_is_no_later_counts_for_nothing_and_a_clock_set_back_begins_anew():
    window = window_of(feed(10.0, [1.0, 2.0, 3.0]))

    assert window == add(add(window, 0.2, 99.0), 0.1, 99.0)
    assert 1 == add(window, -9.0, 4.0).samples


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_what_is_no_number_is_left_out(value: float):
    window = window_of(feed(10.0, [1.0, 2.0, 3.0]))

    assert window == add(window, 0.3, value)


@given(feeds(), st.floats(0.0, 2.0))
def test_looking_ahead_is_by_the_parabola_of_numpy(samples: Samples, seconds: float):
    window = window_of(samples)
    found = trend.ahead(window, seconds)
    if len(window.bins) < 3:
        assert found is None
        return
    bins = np.array([one[:4] for one in window.bins])
    times, values = bins[:, 2] - window.latest, bins[:, 3]
    bend, steep, now = np.polyfit(times, values, 2, w=np.sqrt(bins[:, 1]))
    away = steep * bend < 0.0
    until = min(seconds, -steep / (2.0 * bend)) if away else seconds

    assert found is not None
    expected = np.polyval([bend if away else 0.0, steep, now], until)
    assert pytest.approx(expected, rel=1e-5, abs=1e-4 * (1.0 + abs(bend))) == found


def test_looking_ahead_along_a_thrown_stone():
    """Height 20 t - 5 t^2: at 1 s it is 15, a second later 20, and it turns there."""
    window = Window(seconds=1.0)
    for at, _ in feed(10.0, [0.0] * 11):
        window = add(window, at, 20.0 * at - 5.0 * at * at)

    assert pytest.approx(18.75) == trend.ahead(window, 0.5)
    assert pytest.approx(20.0) == trend.ahead(window, 1.0)
    assert pytest.approx(20.0) == trend.ahead(window, 3.0)


def test_that_a_rise_gets_faster_still_is_not_assumed():
    """5 t^2 at 1 s: it stands at 5 and rises by 10 a second: 10 after half a second."""
    window = window_of([(i / 10, 5.0 * (i / 10) ** 2) for i in range(11)])

    assert pytest.approx(10.0) == trend.ahead(window, 0.5)


def test_looking_ahead_along_a_line_is_along_the_line():
    window = window_of(feed(100.0, [5.0 + 0.3 * i for i in range(300)]))

    assert pytest.approx(5.0 + 0.3 * 299 + 30.0) == trend.ahead(window, 1.0)


def test_no_slope_from_too_few_samples_or_too_short_a_time():
    assert slope(EMPTY) is None
    assert slope(window_of(feed(1.0, [1.0, 2.0, 3.0]))) is None
    assert slope(window_of(feed(100.0, [1.0 + i for i in range(50)]))) is None
    assert slope(window_of(feed(100.0, [1.0 + i for i in range(51)]))) is not None


def test_values_far_apart_in_time_have_no_slope():
    """Values read aloud come seconds apart: nothing is drawn through them."""
    assert slope(window_of(feed(0.25, [100.0 * i for i in range(20)]))) is None


def test_another_length_of_window():
    short = Window(seconds=0.5)
    for at, value in feed(100.0, [0.0] * 100 + [1.0 * i for i in range(60)]):
        short = add(short, at, value)

    assert pytest.approx(100.0) == slope(short)
    assert EMPTY._replace(seconds=0.5) == trend.emptied(short)
