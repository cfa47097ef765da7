"""Time above a limit, against examples worked out by hand and against a fine grid."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from callout.engine.exposure import DIP, NONE, Exposure, Sample, exposed, share_above
from callout.engine.trend import LONGEST_GAP

LIMIT = 740.0


def after(*samples: tuple[float, float]) -> Exposure:
    """The exposure after samples (time, value)."""
    exposure, before = NONE, None
    for at, value in samples:
        now = Sample(at, value)
        exposure, before = exposed(exposure, LIMIT, before, now), now
    return exposure


def whole(at: np.ndarray, values: list[float]) -> Exposure:
    return after(*zip(at.tolist(), values, strict=True))


def times(exposure: Exposure) -> tuple[float, float]:
    return pytest.approx((exposure.seconds, exposure.total))


def test_hand_worked_time_above():
    """730, 750, 750, 750, 730 a second apart: half a second up, two, half a second down: 3 s."""
    exposure = after((0, 730), (1, 750), (2, 750), (3, 750), (4, 730))

    assert times(exposure) == (3.0, 3.0)
    assert exposure.open


def test_hand_worked_dip_too_short_to_end_it():
    """750 for 1 s; down to 735: 10/15 s; 1 s below; up again: 10/15 s; 1 s: 3 1/3 s."""
    exposure = after((0, 750), (1, 750), (2, 735), (3, 735), (4, 750), (5, 750))

    assert times(exposure) == (10 / 3, 10 / 3)
    assert exposure.open


def test_hand_worked_dip_that_ends_it():
    """As above, but 2 s below: 1 2/3 s are over, and 10/15 s and 1 s begin anew."""
    below = after((0, 750), (1, 750), (2, 735), (3, 735), (4, 735))
    again = after((0, 750), (1, 750), (2, 735), (3, 735), (4, 735), (5, 750), (6, 750))

    assert (times(below) == (0.0, 5 / 3), below.open) == (True, False)
    assert times(again) == (5 / 3, 10 / 3)


def test_uneven_samples_by_hand():
    """760 at 0 and 0.1, 720 at 0.5 (half of 0.4 s above), 760 at 1.5 (half of 1 s), 1.6."""
    exposure = after((0.0, 760), (0.1, 760), (0.5, 720), (1.5, 760), (1.6, 760))

    assert times(exposure) == (0.1 + 0.2 + 0.5 + 0.1, 0.9)


def test_a_gap_counts_for_nothing():
    """750 at 0, 1 and 2 s, then nothing for 3 s: of those 3 s nobody knows."""
    still = after((0, 750), (1, 750), (2, 750), (5, 750), (6, 750))
    gone = after((0, 750), (1, 750), (2, 750), (5, 730))

    assert times(still) == (3.0, 3.0)
    assert times(gone) == (0.0, 2.0)
    assert not gone.open


def test_at_the_limit_is_not_above_it():
    assert after((0, 740), (1, 740), (2, 740)) == NONE


def test_one_sample_above_is_an_exposure_without_a_time():
    assert after((0, 750)) == Exposure(0.0, 0.0, True)


def test_values_that_were_read_aloud_seconds_apart_add_no_time():
    assert times(after((0, 750), (4, 750), (8, 750), (12, 750))) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("first", "last", "share"),
    [(750, 760, 1.0), (730, 740, 0.0), (730, 750, 0.5), (750, 730, 0.5), (700, 750, 0.2)],
)
def test_the_share_of_a_straight_line(first: float, last: float, share: float):
    assert pytest.approx(share) == share_above(LIMIT, first, last)


walks = st.lists(st.tuples(st.floats(0.01, 3.5), st.floats(700.0, 780.0)), min_size=2, max_size=40)


@given(walks)
def test_the_whole_time_is_that_of_a_fine_grid_over_the_joined_samples(
    walk: list[tuple[float, float]],
):
    """A thousand points on each straight line between neighbours, gaps left out."""
    at = np.cumsum([step for step, _ in walk])
    values = [value for _, value in walk]
    expected = sum(
        (at[i + 1] - at[i]) * np.mean(np.linspace(values[i], values[i + 1], 1001) > LIMIT)
        for i in range(len(walk) - 1)
        if at[i + 1] - at[i] <= LONGEST_GAP
    )

    assert pytest.approx(expected, abs=0.003 * len(walk)) == whole(at, values).total


@given(walks, st.integers(0, 1000))
def test_later_by_so_much_is_the_same(walk: list[tuple[float, float]], later: int):
    at = np.cumsum([round(step * 64) / 64 for step, _ in walk])  # so that sums are exact
    values = [value for _, value in walk]
    one, other = whole(at, values), whole(at + later, values)

    assert one[:3] == other[:3]


@given(walks)
def test_one_exposure_is_part_of_all(walk: list[tuple[float, float]]):
    exposure, before = NONE, None
    at, since = 0.0, None
    for step, value in walk:
        at += step
        now = Sample(at, value)
        was, exposure, before = exposure, exposed(exposure, LIMIT, before, now), now
        below = value <= LIMIT
        since = (at if since is None else since) if below and step <= LONGEST_GAP else None

        assert 0.0 <= exposure.seconds <= exposure.total
        assert was.total <= exposure.total <= was.total + step + 1e-9
        assert exposure.open or (exposure.seconds == 0.0 and below)
        assert not (exposure.open and since is not None and at - since >= DIP)
