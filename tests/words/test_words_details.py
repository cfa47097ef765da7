"""Details that only a changed sign in the words showed to be held by no other test."""

from __future__ import annotations

import pytest

from callout.words.say_numbers import say_group, say_whole


@pytest.mark.parametrize("digits", ["", "abc", "12.x", "x.5", "\u0663", "1.\u0665"])
def test_what_is_no_number_is_said_to_be_none(digits: str):
    """\u0663 and \u0665 are digits, but none that a radio phrase is made of."""
    with pytest.raises(ValueError, match="cannot be said in groups"):
        say_group(digits)


@pytest.mark.parametrize(
    ("digits", "said"),
    [
        ("12.05", "twelve point zero five"),
        ("12.50", "twelve point fifty"),
        ("7.5", "seven point five"),
    ],
)
def test_behind_the_point_a_pair_is_said_as_one_number_unless_it_begins_with_nought(digits, said):
    assert said == say_group(digits)


def test_a_nine_is_a_niner_only_where_it_is_asked_for():
    """NIN-er: ICAO Annex 10 II, pronunciation of numbers, from memory."""
    assert ("nine thousand", "niner thousand") == (say_whole(9000), say_whole(9000, niner=True))
