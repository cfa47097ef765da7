"""How long it was between two stamps, and which clock is believed."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.logbook.stamp import Gap, Stamp, elapsed, gap

STORED = Stamp(12.0, "2031-05-04T09:30:00Z", 100.0, "first start")

ANY_STAMP = st.builds(
    Stamp,
    now=st.floats(-1e9, 1e9),
    wall=st.datetimes(timezones=st.just(UTC)).map(datetime.isoformat),
    boot=st.floats(0, 1e9),
    boot_id=st.sampled_from(["", "first start", "second start"]),
)


def test_logbook_stamp_believes_the_boot_clock_while_the_machine_runs():
    """The wall clock was set forward by a year; only 7.5 s went by."""
    current = replace(STORED, boot=107.5, wall="2032-05-04T09:30:00Z")

    assert Gap(7.5, "boot clock", "the machine has not been restarted since") == gap(
        STORED, current
    )
    assert 7.5 == elapsed(STORED, current)


def test_logbook_stamp_believes_the_wall_clock_after_a_restart():
    current = Stamp(0.0, "2031-05-04T11:31:00.5+00:00", 5.0, "second start")

    assert Gap(7260.5, "wall clock", "the machine was restarted since") == gap(STORED, current)


def test_logbook_stamp_counts_nothing_when_the_wall_clock_was_set_back():
    current = Stamp(0.0, "2000-01-01T00:00:00Z", 5.0, "second start")
    found = gap(STORED, current)

    assert (0.0, "wall clock") == (found.seconds, found.trusted)
    assert "set back" in found.why


def test_logbook_stamp_does_not_believe_a_start_of_unknown_name():
    """Two machines that give no name to their start must not pass for the same start."""
    stored = replace(STORED, boot_id="")
    current = replace(stored, boot=900.0, wall="2031-05-04T09:30:02Z")

    assert Gap(2.0, "wall clock", "this machine does not say when it was started") == gap(
        stored, current
    )


def test_logbook_stamp_does_not_believe_a_boot_clock_that_went_backwards():
    """A virtual machine put back to an earlier state keeps its boot id."""
    current = replace(STORED, boot=10.0, wall="2031-05-04T09:30:03Z")

    assert Gap(3.0, "wall clock", "the boot clock went backwards") == gap(STORED, current)


@settings(deadline=None)
@given(ANY_STAMP, ANY_STAMP)
def test_logbook_stamp_never_counts_backwards(stored, current):
    found = gap(stored, current)

    assert found.seconds >= 0
    assert found.trusted in {"boot clock", "wall clock"}
    assert found.why
    if found.trusted == "wall clock":
        wall = datetime.fromisoformat(current.wall) - datetime.fromisoformat(stored.wall)
        assert max(wall, timedelta(0)).total_seconds() == found.seconds


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"now": float("nan")}, "The stamp's now must be a finite number"),
        ({"boot": float("inf")}, "The stamp's boot must be a finite number"),
        ({"wall": "yesterday"}, "must be UTC in ISO 8601, not 'yesterday'"),
        ({"wall": "2031-05-04T09:30:00"}, "must be UTC in ISO 8601"),
        ({"wall": "2031-05-04T09:30:00+02:00"}, "must be UTC in ISO 8601"),
    ],
)
def test_logbook_stamp_refuses_what_cannot_be_compared_later(fields, sentence):
    with pytest.raises(ValueError, match=r"stamp") as refused:
        replace(STORED, **fields)

    assert sentence in str(refused.value)
