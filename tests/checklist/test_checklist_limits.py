"""Limits over time in a file: what is read, what is printed, what is refused."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from checklist_files import HEAD, MARK, loaded, marked, problems

from callout.checklist.model import Limit, Transient
from callout.cli.printed import lines

GAUGE = """engine_states: [start]
gauges:
  heat:
    unit: degC
    range: 0 to 1000
    limits:
      start:
        {limit}
{more}lists: {{first: {{items: [{{say: hello}}]}}}}
"""


def file_with(limit: str, more: str = "") -> str:
    return HEAD + GAUGE.format(limit=limit, more=more and f"    {more}\n")


FULL = (
    "{never: {above: 800}, transient: {above: 740, for: 5 s, in_all: 12 s, never_above: 790}, "
    "rise_at_most: 600 per second, fall_at_most: 300 per second, look_ahead: 0.8 s}"
)


def test_all_that_a_limit_can_say(tmp_path: Path):
    gauge = loaded(tmp_path, file_with(FULL, "jitter: 5")).gauges[0]
    (limit,) = gauge.limits

    assert Decimal(5) == gauge.jitter
    assert Transient(Decimal(740), 5.0, Decimal(790), 12.0) == limit.transient
    assert (Decimal(600), Decimal(300), 0.8) == (
        limit.rate_at_most,
        limit.fall_at_most,
        limit.look_ahead,
    )


def test_all_of_it_is_printed(tmp_path: Path):
    printed = list(lines(loaded(tmp_path, file_with(FULL, "jitter: 5"))))

    assert "Gauge heat: 0 to 1000 degC, jitter 5 degC" in printed
    assert (
        "  start: never above 800 degC; above 740 degC for at most 5 s and 12 s in all, never "
        "above 790 degC; rising at most 600 degC per second; falling at most 300 degC per "
        "second; looking ahead: 0.8 s early"
    ) in printed


def test_what_is_not_written_is_left_to_the_engine(tmp_path: Path):
    gauge = loaded(tmp_path, file_with("{never: {above: 800}}")).gauges[0]

    assert gauge.jitter is None
    assert gauge.limits[0].look_ahead is None


def test_looking_ahead_can_be_left_out(tmp_path: Path):
    text = file_with("{never: {above: 800}, look_ahead: no}")

    assert 0.0 == loaded(tmp_path, text).gauges[0].limits[0].look_ahead
    assert "  start: never above 800 degC; looking ahead: no" in list(lines(loaded(tmp_path, text)))


def test_a_rate_of_fall_is_a_limit_by_itself(tmp_path: Path):
    gauge = loaded(tmp_path, file_with("{fall_at_most: 5 per second}")).gauges[0]

    assert (Limit("start", fall_at_most=Decimal(5)),) == gauge.limits


@pytest.mark.parametrize(
    ("limit", "more", "what"),
    [
        (
            "{caution: {above: 700}, look_ahead: §1 s}",
            "",
            "there is no never limit here to look ahead to; expected one, or no look_ahead",
        ),
        (
            "{never: {above: 800}, look_ahead: §soon}",
            "",
            'found "soon"; expected a time such as "90 s" or "1 min 30 s" (or the word "no")',
        ),
        (
            "{transient: {above: 740, for: 5 s, in_all: §3 s}}",
            "",
            '"in_all" is shorter than "for"; expected a longer time',
        ),
        ("{never: {above: 800}}", "jitter: §0", "0 is no jitter of a gauge that shows 0 to 1000"),
        (
            "{never: {above: 800}}",
            "jitter: §1000",
            "1000 is no jitter of a gauge that shows 0 to 1000; expected more than 0 and less",
        ),
        ("§{}", "", "no limit is written here; expected caution, fall_at_most, never, "),
        ("{never: {above: 800}, §fall_most: 5 per second}", "", 'did you mean "fall_at_most"?'),
    ],
)
def test_what_cannot_be_meant_is_refused_where_it_stands(
    tmp_path: Path, limit: str, more: str, what: str
):
    text, line, column = marked(file_with(limit, more))
    (problem,) = problems(tmp_path, text)

    assert MARK not in text
    assert problem.startswith(f"aircraft.yaml:{line}:{column}: ")
    assert what in problem
