"""Numbers -> speech: settings, rounding, refusals, and a reference library."""

from __future__ import annotations

from decimal import Decimal

import pytest
import radio_phrases as radio
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from callout.words.normal import normalise
from callout.words.say_numbers import (
    say_code,
    say_digits,
    say_duration,
    say_everyday,
    say_group,
    say_whole,
)

D = Decimal


@pytest.mark.parametrize(
    ("value", "decimals", "said"),
    [
        ("24.5", None, "two four point five"),
        ("24.5", 1, "two four point five"),
        ("24.50", None, "two four point five zero"),
        ("24", 1, "two four point zero"),
        ("24.56", 1, "two four point six"),
        ("24.45", 1, "two four point five"),
        ("24.5", 0, "two five"),
        ("-5", 0, "minus five"),
        ("-0.04", 1, "zero point zero"),
        ("-0", None, "zero"),
        ("0.8", 1, "zero point eight"),
        ("1E+2", None, "one zero zero"),
        ("1E-2", None, "zero point zero one"),
        ("109", 0, "one zero nine"),
    ],
)
def test_digits_are_said_one_by_one_with_as_many_after_the_point_as_asked(value, decimals, said):
    assert said == say_digits(D(value), decimals)


def test_the_decimal_word_and_niner_are_settings():
    assert say_digits(D("9.5"), 1, "decimal", niner=True) == "niner decimal five"
    assert say_digits(D("9.5"), 1, "point") == "nine point five"


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity", "1E+999999", "1E-999999"])
def test_a_value_without_an_end_is_refused_at_once(value):
    with pytest.raises(ValueError, match="cannot be said digit by digit"):
        say_digits(D(value))


@pytest.mark.parametrize("code", ["", "-", ".", "5.", "1.2.3", "12a", "1 2", "--5", "\u0662"])
def test_a_code_of_anything_but_digits_is_refused(code):
    with pytest.raises(ValueError, match="cannot be said digit by digit"):
        say_code(code)


@pytest.mark.parametrize("digits", ["", "0", "05", "1234567", "1.234", "12.", "a", "-5"])
def test_what_has_no_group_form_is_refused(digits):
    with pytest.raises(ValueError, match="cannot be said in groups"):
        say_group(digits)


@pytest.mark.parametrize(
    ("digits", "said"),
    [
        ("250", "two fifty"),
        ("1005", "ten oh five"),
        ("1200", "twelve hundred"),
        ("2000", "two thousand"),
        ("123456", "twelve thirty four fifty six"),
        ("25700", "two five seven zero zero"),
        ("10005", "one zero zero zero five"),
        ("126.05", "one twenty six point zero five"),
    ],
)
def test_groups_are_pairs_from_the_right(digits, said):
    assert said == say_group(digits)


@settings(deadline=None)
@given(st.integers(-999_999, 999_999))
def test_everyday_numbers_agree_with_num2words(value):
    """Reference: the library num2words, its commas and hyphens taken off."""
    assert normalise(num2words(value)) == say_everyday(value, with_and=True)


@pytest.mark.parametrize(
    ("said", "value"),
    [
        (say_whole(12500), 12500),
        (say_digits(D(250)), 250),
        (say_group("2992"), 2992),
        (radio.say_flight_level(180), 180),
    ],
)
def test_radiotelephony_is_not_what_num2words_says(said, value):
    """Negative control: an everyday library cannot stand in for these."""
    assert normalise(num2words(value)) not in said


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0, "zero seconds"),
        (1, "one second"),
        (10, "one zero seconds"),
        (15, "one five seconds"),
        (60, "one minute"),
        (90, "one minute three zero seconds"),
        (120, "two minutes"),
        (150, "two minutes three zero seconds"),
        (1200, "two zero minutes"),
        (3600, "one hour"),
        (3661, "one hour one minute one second"),
        (4.4, "four seconds"),
        (4.5, "five seconds"),
        (59.6, "one minute"),
    ],
)
def test_a_length_of_time_is_said_in_minutes_and_seconds(seconds, said):
    assert said == say_duration(seconds)


@pytest.mark.parametrize("seconds", [-1, float("nan"), float("inf")])
def test_what_is_no_length_of_time_is_refused(seconds):
    with pytest.raises(ValueError, match="no length of time"):
        say_duration(seconds)


def test_what_everyday_words_do_not_reach_is_refused():
    with pytest.raises(ValueError, match="only numbers below a million"):
        say_everyday(1_000_000)


def test_a_runway_has_its_side():
    assert radio.say_runway("09L") == "runway zero niner left"
