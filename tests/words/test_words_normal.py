"""Canonical words: what is one text, and what is left alone because it would be a guess."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.words.normal import normalise
from callout.words.number_words import spelled

SAME = [
    ("Off.", "off"),
    ("  STAND-BY ", "stand by"),
    ("O.K.", "ok"),
    ("O.K", "ok"),
    ("q.n.h.", "qnh"),
    ("Boost pump, OFF!", "boost pump off"),
    ("what\u2019s open?", "what's open"),
    ("'checked'", "checked"),
    ("on/off", "on off"),
    ("start \u2014 fuel", "start fuel"),
    ("24.5", "24.5"),
    ("24.5.", "24.5"),
    ("12,500", "12500"),
    ("-5", "minus 5"),
    ("\u22125", "minus 5"),
    (".64", ".64"),
    ("104%", "104 percent"),
    ("V12", "v12"),
    ("연료 차단.", "연료 차단"),
    ("", ""),
    ("...", ""),
]

LEFT_ALONE = ["1.2.3", "2,5", "2-5", "1:30", "5\u00b2", "\u00bd", "1,2500", "12e3", "700c", "24.5v"]


@pytest.mark.parametrize(("text", "words"), SAME)
def test_one_spelling_for_what_people_write(text, words):
    assert words == normalise(text)


@pytest.mark.parametrize("text", LEFT_ALONE)
def test_a_mixture_of_digits_and_signs_is_left_as_one_word(text):
    assert text == normalise(text)


@settings(deadline=None)
@given(st.text(max_size=60))
def test_normalising_twice_changes_nothing_more(text):
    assert normalise(text) == normalise(normalise(text))


@settings(deadline=None)
@given(st.text(max_size=60))
def test_words_are_parted_by_single_spaces_and_have_no_capitals(text):
    words = normalise(text)

    assert words.split() == [word for word in words.split(" ") if word]
    assert words == " ".join(words.split())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("runway 27", "runway two seven"),
        ("24.5", "two four point five"),
        (".64", "point six four"),
        ("v12", "v12"),
        ("1.2.3", "1.2.3"),
    ],
)
def test_numerals_are_spelled_digit_by_digit(text, words):
    assert words == spelled(text)
