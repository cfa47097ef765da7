"""Whatever callout can say, it reads back as the same value."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.words.jsgf import spoken_forms
from callout.words.read_numbers import readings
from callout.words.resolve import resolve
from callout.words.say_numbers import DECIMAL, POINT, say_code, say_digits

VALUES = st.decimals(
    min_value=-99_999, max_value=999_999, allow_nan=False, allow_infinity=False, places=None
).map(lambda value: round(value, 3))
TENTHS = st.integers(-99_999, 99_999).map(lambda tenths: Decimal(tenths).scaleb(-1))


@settings(deadline=None)
@given(VALUES, st.sampled_from(["point", "decimal"]), st.booleans())
def test_every_value_said_digit_by_digit_is_read_as_itself_and_nothing_else(value, word, niner):
    read = readings(say_digits(value, None, word, niner=niner))

    assert [value] == [reading.value for reading in read]
    assert [reading.sounds_like for reading in read] == [()]


@settings(deadline=None)
@given(TENTHS, st.sampled_from([POINT, DECIMAL]))
def test_every_gauge_value_survives_either_word_for_the_point_and_needs_no_question(value, word):
    read = readings(say_digits(value, 1, word, niner=True))

    assert value == resolve(read, Decimal(-10_000), Decimal(10_000), 1).value


@settings(deadline=None)
@given(st.one_of(VALUES, st.integers(-99_999, 999_999).map(Decimal)))
def test_every_form_of_a_value_is_read_as_that_value(value):
    for said in spoken_forms(value):
        assert value in [reading.value for reading in readings(said)]


@pytest.mark.parametrize("values", [range(10_000), range(10_000, 1_000_000, 397)])
def test_every_form_of_every_whole_number_is_read_as_that_number(values):
    """All of them below ten thousand, every 397th below a million."""
    for value in values:
        for said in spoken_forms(Decimal(value)):
            assert value in [reading.value for reading in readings(said)], said


@settings(deadline=None)
@given(st.text(alphabet="0123456789", min_size=1, max_size=12))
def test_digits_as_said_come_back_with_their_zeros(digits):
    assert [digits] == [reading.digits for reading in readings(say_code(digits))]
