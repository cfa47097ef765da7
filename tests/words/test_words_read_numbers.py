"""Speech -> numbers: what is read, and as carefully what is refused."""

from __future__ import annotations

import sys
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_to_num import text2num

from callout.words.number_words import DIGITS, HEARD_WORDS, HOMOPHONES, PLAIN_DIGITS
from callout.words.read_numbers import MOST_WORDS, Form, readings
from callout.words.say_numbers import say_everyday

ACCEPTED = [
    # radiotelephony, digit by digit
    ("two five zero", "250"),
    ("zero", "0"),
    ("zero zero five", "5"),
    ("niner", "9"),
    ("fife", "5"),
    ("tree", "3"),
    ("fower", "4"),
    ("ait", "8"),
    ("wun too fife", "125"),
    ("one oh four", "104"),
    ("one o four", "104"),
    ("two four point five", "24.5"),
    ("two four decimal five", "24.5"),
    ("two four dot five", "24.5"),
    ("zero point eight", "0.8"),
    ("point six four", "0.64"),
    ("minus five", "-5"),
    ("minus zero", "0"),
    ("minus zero point five", "-0.5"),
    ("plus one five", "15"),
    # thousands and hundreds
    ("seven hundred", "700"),
    ("one two thousand", "12000"),
    ("one zero thousand", "10000"),
    ("one two thousand five hundred", "12500"),
    ("one seven thousand niner hundred", "17900"),
    ("one two three thousand", "123000"),
    # everyday
    ("two hundred and fifty", "250"),
    ("two hundred fifty", "250"),
    ("two hundred and thirty", "230"),
    ("a hundred and four", "104"),
    ("a thousand", "1000"),
    ("fifteen hundred", "1500"),
    ("twenty four point five", "24.5"),
    ("one hundred and two point five", "102.5"),
    ("twelve thousand five hundred", "12500"),
    ("seventeen thousand", "17000"),
    ("one thousand and five", "1005"),
    ("nine hundred and ninety nine thousand nine hundred and ninety nine", "999999"),
    ("minus nineteen", "-19"),
    # group
    ("two fifty", "250"),
    ("one oh five", "105"),
    ("nineteen oh five", "1905"),
    ("twenty nine ninety two", "2992"),
    ("one twenty six point fifty five", "126.55"),
    ("seven twenty five", "725"),
    ("Thirty-three fifty", "3350"),
    # written
    ("250", "250"),
    ("24.5", "24.5"),
    (".64", "0.64"),
    ("-5", "-5"),
    ("12,500", "12500"),
    ("2 5 0", "250"),
]

REFUSED = [
    "",
    "off",
    "checked",
    "two hundred and thirty zero",
    "two hundred zero",
    "two hundred and",
    "and two hundred",
    "two hundred and two hundred",
    "two hundred two hundred",
    "hundred",
    "hundred and four",
    "thousand",
    "zero hundred",
    "zero thousand",
    "twenty hundred",
    "two five hundred",
    "zero five thousand",
    "one thousand two thousand",
    "one thousand fifteen hundred",
    "two thousand and five hundred",
    "one two three four thousand",
    "one thousand one two",
    "twenty zero",
    "twenty oh",
    "twenty ten five",
    "fifteen two",
    "fifty two five",
    "oh fifty",
    "two fifty zero",
    "two and fifty",
    "point",
    "two point",
    "point point five",
    "two point five point",
    "two point five point five",
    "two point five hundred",
    "two point hundred",
    "point minus five",
    "minus",
    "minus minus five",
    "five minus",
    "two minus five",
    "negative five",
    "negative",
    "a",
    "a five",
    "a hundred and",
    "two five volts",
    "about two five",
    "two five maybe",
    "twenty-something",
    "two and a half",
    "1.2.3",
    "2,5",
    "1:30",
    "v12",
    "\u00bd",
    "5\u00b2",
    "\u0662\u0665",
]


@pytest.mark.parametrize(("text", "value"), ACCEPTED)
def test_a_spoken_number_has_one_value(text, value):
    assert [Decimal(value)] == [reading.value for reading in readings(text)]


def test_minus_zero_is_written_without_a_sign():
    assert [str(reading.value) for reading in readings("minus zero")] == ["0"]


@pytest.mark.parametrize("text", REFUSED)
def test_what_is_not_clearly_a_number_is_refused(text):
    assert readings(text) == ()


@pytest.mark.parametrize(
    ("text", "form", "digits"),
    [
        ("zero eight zero", Form.DIGITS, "080"),
        ("two four point five zero", Form.DIGITS, "24.50"),
        ("two hundred and fifty", Form.EVERYDAY, "250"),
        ("two fifty", Form.GROUP, "250"),
        ("one two thousand five hundred", Form.WHOLE, "12500"),
        ("minus zero five", Form.DIGITS, "-05"),
    ],
)
def test_a_reading_tells_the_form_and_the_digits_as_said(text, form, digits):
    assert [(form, digits)] == [(reading.form, reading.digits) for reading in readings(text)]


@pytest.mark.parametrize(
    ("digit", "sounds"),
    # ICAO Annex 10 II 5.2.1.4.3 digit sounds as quoted in icao4u.com, and what
    # recognisers write for them.
    [
        (0, "zero oh o"),
        (1, "one won wun"),
        (2, "two to too"),
        (3, "three tree free"),
        (4, "four for fower"),
        (5, "five fife"),
        (6, "six"),
        (7, "seven"),
        (8, "eight ate ait"),
        (9, "nine niner"),
    ],
)
def test_every_sound_of_a_digit_is_that_digit(digit, sounds):
    for sound in sounds.split():
        assert [digit] == [reading.value for reading in readings(sound)]


@pytest.mark.parametrize(
    "text", [*HOMOPHONES, "oh", "o", "oh oh", "point to", "for two", "two to five", "minus oh"]
)
def test_words_that_may_be_no_number_are_doubtful(text):
    assert [reading.doubtful for reading in readings(text)] == [True]


@pytest.mark.parametrize(
    "text", ["one oh five", "two five zero", "oh five", "zero", "point oh five"]
)
def test_plain_numbers_are_not_doubtful(text):
    assert [reading.doubtful for reading in readings(text)] == [False]


@settings(deadline=None)
@given(st.integers(0, 999_999))
def test_everyday_numbers_agree_with_text2num(value):
    """Reference: the library text2num reads the same words as the same number."""
    for with_and in (False, True):
        words = say_everyday(value, with_and=with_and)
        read = text2num(words, "en")

        assert value == read
        assert read in [reading.value for reading in readings(words)]


@pytest.mark.parametrize(
    ("text", "value"),
    [("two niner niner two", 2992), ("oh nine", 9), ("one two one decimal five", "121.5")],
)
def test_radiotelephony_is_read_where_text2num_gives_up(text, value):
    """Negative control: text2num knows everyday numbers only."""
    with pytest.raises(ValueError, match=r"."):
        text2num(text, "en")

    assert [Decimal(value)] == [reading.value for reading in readings(text)]


def calls_made(text: str) -> int:
    """How many Python functions reading the text calls: steps, not seconds."""
    calls = 0

    def count(frame, event, arg):
        nonlocal calls
        calls += event == "call"

    before = sys.getprofile()
    sys.setprofile(count)
    try:
        readings(text)
    finally:
        sys.setprofile(before)
    return calls


MOST_CALLS = 2_000


@pytest.mark.parametrize("word", [*HEARD_WORDS, "a", "to", "plus", "x", "1", "'"])
def test_ten_thousand_words_are_refused_without_being_read(word):
    text = " ".join([word] * 10_000)

    assert readings(text) == ()
    assert calls_made(text) < 10


@settings(deadline=None)
@given(st.lists(st.sampled_from([*DIGITS, *HEARD_WORDS, "a", "dot", "plus"]), max_size=MOST_WORDS))
def test_no_mixture_of_number_words_takes_many_steps(words):
    assert calls_made(" ".join(words)) < MOST_CALLS


@pytest.mark.parametrize(
    "words",
    [
        ["fifteen"] * 4,
        ["fifty", "thirteen", "ninety", "fourteen"],
        ["fifty"] * MOST_WORDS,
        [*["nine"] * 15, "point", *["fifteen"] * 4],
        ["hundred", "thousand"] * 10,
        ["a", "hundred", "and"] * 6,
    ],
)
def test_the_worst_mixtures_take_few_steps(words):
    assert calls_made(" ".join(words)) < MOST_CALLS


def test_a_number_of_more_words_than_anybody_says_is_refused():
    assert readings(" ".join([PLAIN_DIGITS[1]] * MOST_WORDS)) != ()
    assert readings(" ".join([PLAIN_DIGITS[1]] * (MOST_WORDS + 1))) == ()
