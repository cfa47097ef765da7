"""The slope of what a gauge shows: least squares over a short window of samples.

Rule of this file: pure arithmetic on times and values, in floats. A window is a
frozen value (start with EMPTY); `add` gives the next one, `slope` reads it.
Nothing is assumed about a time without samples: a gap empties the window.

A window keeps the samples of the last `seconds`, and at a slow feed the last
`least` samples, however old. Samples are summed up in bins of a fifteenth of
the window, each about its own mean, so that a sample costs the same at 1 and at
100 Hz and nothing drifts over an hour; the slope is that of all samples in the
bins, not of the bins' means.

`ahead` looks ahead at the rate at the end of a least-squares parabola through the
bins' means, and less far where that bends away: what lights up or spins up leaves a
straight line long before it gets there.

A jump from one steady value to another, or a single wild sample, is no slope: a
straight line explains at most three quarters of a jump that is sampled evenly
(4/5 with only four samples), so `Fit.steady` asks for more than that.
"""

from __future__ import annotations

import math
from typing import NamedTuple

SECONDS = 1.0
"""Length of a window (s), unless another is asked for: rates are "per second"."""

LEAST = 4
"""Fewest samples in a slope; with three, any jump looks like a line."""

LEAST_SHARE = 0.5
"""A slope needs samples over at least this share of `seconds`."""

LONGEST_GAP = 2.5
"""Seconds without a sample that empty a window: a feed of 1 Hz may lose one sample."""

EXPLAINED = 0.85
"""A slope is steady if the line explains more than this share of the scatter (R squared)."""

BINS = 15


class Bin(NamedTuple):
    """Some samples in a row.

    Fields:
        began: time of the first (s)
        samples: how many
        at, value: their means
        tt, tv, vv: sums of squares and products about these means
    """

    began: float
    samples: int
    at: float
    value: float
    tt: float
    tv: float
    vv: float


class Window(NamedTuple):
    """The latest samples of one gauge: empty to begin with.

    Fields:
        bins: oldest first
        samples: how many are in them
        latest: time of the latest sample (s)
        seconds: see SECONDS
        longest_gap: see LONGEST_GAP
        least: see LEAST
    """

    bins: tuple[Bin, ...] = ()
    samples: int = 0
    latest: float = -math.inf
    seconds: float = SECONDS
    longest_gap: float = LONGEST_GAP
    least: int = LEAST


class Fit(NamedTuple):
    """A straight line through a window.

    Fields:
        slope: units per second
        value: where the line stands at the time of the latest sample
        explained: share of the values' scatter that the line explains, 0 .. 1
        span: seconds between first and latest sample
        samples: how many
    """

    slope: float
    value: float
    explained: float
    span: float
    samples: int

    @property
    def steady(self) -> bool:
        """Whether this is a slope, and no jump, spike or noise."""
        return self.explained > EXPLAINED


EMPTY = Window()


def emptied(window: Window) -> Window:
    """The same window without its samples."""
    return window._replace(bins=(), samples=0, latest=-math.inf)


def add(window: Window, at: float, value: float) -> Window:
    """The window with one more sample.

    A sample that is no finite number, or not later than the latest one, is left
    out; one that comes after a gap, or lies back by as much, begins anew.
    """
    if not (math.isfinite(value) and math.isfinite(at)):
        return window
    bins, count, latest, seconds, longest_gap, least = window
    if bins and abs(at - latest) > longest_gap:
        bins, count = (), 0
    elif at <= latest:
        return window
    if bins and at - bins[-1].began < seconds / BINS:
        bins = (*bins[:-1], _grown(bins[-1], at, value))
    else:
        bins = (*bins, Bin(at, 1, at, value, 0.0, 0.0, 0.0))
    count += 1
    drop = 0
    while len(bins) > drop + 1 and bins[drop + 1].began <= at - seconds:
        if count - bins[drop].samples < least:
            break
        count -= bins[drop].samples
        drop += 1
    return Window(bins[drop:] if drop else bins, count, at, seconds, longest_gap, least)


def _grown(old: Bin, at: float, value: float) -> Bin:
    """One sample more, about the new means (Welford 1962, extended to a product)."""
    began, count, mean_at, mean_value, tt, tv, vv = old
    count += 1
    off_at, off_value = at - mean_at, value - mean_value
    mean_at += off_at / count
    mean_value += off_value / count
    return Bin(
        began,
        count,
        mean_at,
        mean_value,
        tt + off_at * (at - mean_at),
        tv + off_at * (value - mean_value),
        vv + off_value * (value - mean_value),
    )


def fit(window: Window) -> Fit | None:
    """The least-squares line; None with too few samples or over too short a time."""
    bins, count, latest, seconds, _, least = window
    if count < least or latest - bins[0].began < LEAST_SHARE * seconds:
        return None
    mean_at = mean_value = 0.0
    for one in bins:
        mean_at += one[1] * (one[2] - latest)
        mean_value += one[1] * one[3]
    mean_at = latest + mean_at / count
    mean_value /= count
    tt = tv = vv = 0.0
    for _, n, at, value, bin_tt, bin_tv, bin_vv in bins:
        off_at, off_value = at - mean_at, value - mean_value
        tt += bin_tt + n * off_at * off_at
        tv += bin_tv + n * off_at * off_value
        vv += bin_vv + n * off_value * off_value
    rise, scatter = tv / tt, tt * vv
    explained = min(1.0, tv * tv / scatter) if scatter > 0.0 else 0.0
    span = latest - bins[0].began
    return Fit(rise, mean_value + rise * (latest - mean_at), explained, span, count)


def slope(window: Window) -> float | None:
    """Units per second by least squares; None if the window does not hold enough for one."""
    found = fit(window)
    return None if found is None else found.slope


def ahead(window: Window, seconds: float) -> float | None:
    """Where the values will be so many seconds after the latest sample, at the rate they have.

    Rate and place are those of the least-squares parabola through the bins' means,
    each with the weight of its samples (at 10 Hz and a window of a second, bins are
    samples). If the parabola bends away, the values go along it, at most to where it
    turns; that they get faster still is not assumed, because every rise does so where
    it begins. None with fewer than three bins.
    """
    curve = _parabola(window)
    if curve is None:
        return None
    place, rate, bend = curve
    if rate * bend >= 0.0:
        return place + rate * seconds
    seconds = min(seconds, rate / (-2.0 * bend))
    return place + rate * seconds + bend * seconds * seconds


def _parabola(window: Window) -> tuple[float, float, float] | None:
    """Place and rate at the latest sample, and half the change of the rate per second."""
    bins, latest = window.bins, window.latest
    if len(bins) < 3:
        return None
    weight = sum(one[1] for one in bins)
    mid = sum(one[1] * (one[2] - latest) for one in bins) / weight
    mean = sum(one[1] * one[3] for one in bins) / weight
    s2 = s3 = s4 = sv = sqv = 0.0
    for _, n, at, value, _, _, _ in bins:
        x = at - latest - mid
        v = value - mean
        s2 += n * x * x
        s3 += n * x * x * x
        s4 += n * x * x * x * x
        sv += n * x * v
        sqv += n * x * x * v
    # Orthogonal polynomials: 1, x, and q = x^2 - skew x - s2 / weight.
    skew = s3 / s2
    bend = (sqv - skew * sv) / (s4 - skew * s3 - s2 * s2 / weight)
    steep = sv / s2
    place = mean - steep * mid + bend * (mid * mid + skew * mid - s2 / weight)
    return place, steep - bend * (2.0 * mid + skew), bend
