"""Lines of a feed: what is a row, what is none, and that nothing hostile gets far."""

from __future__ import annotations

import csv
import io
import json
import math
import tracemalloc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.gauges.feed.lines import LONGEST_LINE, Lines
from callout.gauges.feed.parsing import MOST_COLUMNS, Malformed, Name, Parser, Row

AB = (Name("a"), Name("b"))


def rows(*lines: str | bytes) -> list[Row | str | None]:
    """What each line gives; a sentence for one that is refused."""
    parser = Parser()
    found: list[Row | str | None] = []
    for line in lines:
        try:
            found.append(parser.line(line.encode() if isinstance(line, str) else line))
        except Malformed as why:
            found.append(str(why))
    return found


@pytest.mark.parametrize(
    ("line", "row"),
    [
        ("1.5,2,3", Row(AB, (2.0, 3.0), 1.5)),
        (" 1.5 , 2 , -3e2 ", Row(AB, (2.0, -300.0), 1.5)),
        ("1.5,,3", Row(AB, (None, 3.0), 1.5)),
        ("1.5,-,NULL", Row(AB, (None, None), 1.5)),
        ('1.5,"2","3"', Row(AB, (2.0, 3.0), 1.5)),
        ("1.5,2,3\r", Row(AB, (2.0, 3.0), 1.5)),
        ("time,a,b", None),
        ("", None),
        ("1.5,2", "it has 2 columns; the head has 3"),
        ("1.5,2,3,4", "it has 4 columns; the head has 3"),
        ("1.5,2,x", '"x" is no number'),
        ("1.5,2,1_000", '"1_000" is no number'),
        ("1.5,2,0x10", '"0x10" is no number'),
        ("1.5,2,1 000", '"1 000" is no number'),
        ("1.5,," + "9" * 40, '"999999999999999999999999..." is no number'),
        (",2,3", "it tells no time in its column of times"),
        ("nan,2,3", "it tells no time in its column of times"),
        ("1e300,2,3", "it tells no time in its column of times"),
        ("1e999999,2,3", "it tells no time in its column of times"),
        ("-1.5,2,3", Row(AB, (2.0, 3.0), -1.5)),
        ('1.5,"2,3', "its quotes do not close"),
        (b"\xff\xfe1.5", "it is not text in UTF-8"),
        ("\x1b[2J,2,3", '"?[2J" is no number'),
        ("{", "it is not JSON"),
        ('{"a":1,"a":2}', "a key stands there twice"),
        ('{"a":true}', '"a" has no number'),
        ('{"a":[1]}', '"a" has no number'),
        ("{}", "it has 0 keys; expected 1 to 64"),
        ('{"time":1}', "there is no column beside the time"),
        ('{"a":' + "9" * 400 + "}", '"a" is too long a number'),
    ],
)
def test_each_line_is_a_row_nothing_or_a_sentence(line, row):
    assert row == rows("time,a,b", line)[1]


def test_what_is_not_finite_is_kept_for_the_judge_of_values():
    (_, row) = rows("a,b", "nan,-inf")

    assert isinstance(row, Row)
    assert math.isnan(row.values[0] or 0.0)
    assert -math.inf == row.values[1]


def test_a_head_names_units_and_the_time_may_be_in_milliseconds():
    (_, row) = rows("oil temp [degF],Time [ms]", "100,2500")

    assert Row((Name("oil temp", "degF"),), (100.0,), 2.5) == row


def test_a_json_line_needs_no_head():
    assert [Row(AB, (1.0, None), 2.0), Row(AB, (1.0, 2.5), None)] == rows(
        '{"a":1,"time":2,"b":null}', '{"a":"1","b":2.5}'
    )


@pytest.mark.parametrize(
    ("head", "why"),
    [
        ("1,2", "no head came before it; expected a line of column names first"),
        ("a,a", 'the column "a" stands there twice'),
        ("time [min],a", 'the time is in "min"; expected "time [s]" or "time [ms]"'),
        ("time", "there is no column beside the time"),
        ("a[b]c,d", '"a[b]c" is no column name; expected one such as "oil [bar]"'),
        ("\x1bcx,b", '"?cx" is no column name; expected one such as "oil [bar]"'),
        ('{"\\ud800":1}', '"?" is no column name; expected one such as "oil [bar]"'),
        ("a;b", '"a;b" is no column name; expected one such as "oil [bar]"'),
        (",".join("abc" for _ in range(65)), "it has 65 columns; expected at most 64"),
    ],
)
def test_a_head_that_cannot_be_meant_is_refused(head, why):
    assert [why] == rows(head)


@pytest.mark.parametrize("within", ['{"time":1}', '{"a":1,"time [min]":1}', "a,a", "time [min],a"])
@pytest.mark.parametrize("line", ['{"a":7,"b":2}', '{"time":3,"a":7,"b":2}'])
def test_a_head_that_is_refused_within_a_stream_moves_no_number_to_another_column(line, within):
    """The fuzzer found it: the time of the refused head was taken for that of the rows."""
    before, _, after = rows(line, within, line)

    assert before == after


@pytest.mark.parametrize("within", ['{"time":1}', "time [min],a"])
def test_nor_does_one_within_a_table(within):
    assert [Row(AB, (7.0, 2.0), None), "it has 3 columns; the head has 2"] == [
        row for at, row in enumerate(rows("a,b", "7,2", within, "7,2", "1,7,2")) if at in (3, 4)
    ]


def test_a_table_may_begin_anew_with_another_head():
    found = rows("a,b", "1,2", "b,c", "3,4")

    assert Row((Name("b"), Name("c")), (3.0, 4.0), None) == found[3]


@settings(deadline=None)
@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=2, max_size=2))
def test_numbers_are_those_that_python_s_csv_and_json_read(numbers):
    """The standard library is the second opinion."""
    out = io.StringIO()
    csv.writer(out).writerow(numbers)
    (_, row) = rows("a,b", out.getvalue())
    (same,) = rows(json.dumps(dict(zip("ab", numbers, strict=True))))

    assert isinstance(row, Row)
    assert isinstance(same, Row)
    assert tuple(numbers) == row.values == same.values


@settings(deadline=None)
@given(st.binary(max_size=300), st.booleans())
def test_whatever_comes_is_a_row_nothing_or_malformed(data, headed):
    found = rows(*([b"time,a,b"] if headed else []), data)[-1]

    if isinstance(found, Row):
        assert len(found.names) == len(found.values) <= MOST_COLUMNS
    else:
        assert found is None or found.isprintable()


@settings(deadline=None)
@given(st.lists(st.binary(max_size=20), max_size=20), st.integers(1, 7))
def test_lines_are_the_same_however_they_are_cut_into_pieces(pieces, size):
    data = b"".join(piece + b"\n" for piece in pieces)
    lines = Lines()
    cut = [line for at in range(0, len(data), size) for line in lines.take(data[at : at + size])]

    assert data.split(b"\n")[:-1] == cut
    assert data.count(b"\n") == lines.number


def test_a_line_that_is_too_long_is_told_once_and_the_next_one_is_read():
    lines = Lines()
    found = list(lines.take(b"x" * LONGEST_LINE + b"\n" + b"y" * (LONGEST_LINE + 1) + b"\nz\n"))

    assert [b"x" * LONGEST_LINE, None, b"z"] == found


def test_the_last_line_needs_no_end():
    lines = Lines()

    assert [b"a"] == list(lines.take(b"a\nb"))
    assert [b"b"] == list(lines.end())
    assert [] == list(lines.end())


def test_a_gigabyte_without_an_end_takes_no_room():
    """Sixteen thousand chunks of 64 KiB; the peak is what a few chunks take."""
    lines, chunk = Lines(), b"x" * 65536
    tracemalloc.start()
    given_back = [line for _ in range(16384) for line in lines.take(chunk)]
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    assert [] == given_back
    assert [None, b"a"] == list(lines.take(b"\na\n"))
    assert peak < 2_000_000
