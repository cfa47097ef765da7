"""Doubt is never settled in silence: teens and tens, dropped points, everyday words."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.words.read_numbers import readings
from callout.words.resolve import Outcome, resolve
from callout.words.say_numbers import say_digits, say_everyday, say_group

D = Decimal

# Pairs that sound alike: common practice, no source; the ICAO rule that every digit is
# said separately (Annex 10 II 5.2.1.4.1.1, as quoted) is what they come from.
PAIRS = [(13, 30), (14, 40), (15, 50), (16, 60), (17, 70), (18, 80), (19, 90)]
BOTH_WAYS = [*PAIRS, *((ty, teen) for teen, ty in PAIRS)]


@pytest.mark.parametrize(("said", "other"), BOTH_WAYS)
def test_a_teen_and_its_ty_must_be_confirmed_when_both_are_possible(said, other):
    resolution = resolve(readings(say_everyday(said)), D(0), D(100))

    assert Outcome.CONFIRM is resolution.outcome
    assert (D(said), D(other)) == resolution.values
    assert resolution.value is None


@pytest.mark.parametrize(("said", "other"), BOTH_WAYS)
def test_only_the_one_that_sounds_like_it_is_possible_and_that_is_asked_not_taken(said, other):
    resolution = resolve(readings(say_everyday(said)), D(other) - 1, D(other) + 1)

    assert (Outcome.CONFIRM, (D(other),)) == (resolution.outcome, resolution.values)


@pytest.mark.parametrize(("said", "other"), BOTH_WAYS)
def test_no_question_when_the_other_one_is_out_of_range(said, other):
    resolution = resolve(readings(say_everyday(said)), D(said) - 1, D(said) + 1)

    assert (Outcome.ONE, D(said)) == (resolution.outcome, resolution.value)


@pytest.mark.parametrize(("said", "other"), BOTH_WAYS)
def test_digits_are_never_in_doubt(said, other):
    resolution = resolve(readings(say_digits(D(said))), D(0), D(100))

    assert (Outcome.ONE, D(said)) == (resolution.outcome, resolution.value)


@pytest.mark.parametrize(("said", "other"), BOTH_WAYS)
@pytest.mark.parametrize(
    "frame",
    [
        "two hundred and {}",
        "one {}",
        "minus {}",
        "two four point {}",
        "{} thousand",
        "{} point five",
        "one thousand and {}",
        "{} thousand five hundred",
        "twenty {}",
        "{} oh five",
    ],
)
def test_a_trap_within_a_longer_number_is_found(frame, said, other):
    first = readings(frame.format(say_everyday(said)))
    second = readings(frame.format(say_everyday(other)))

    assert second[0].value in first[0].sounds_like
    assert first[0].value in second[0].sounds_like


def test_two_traps_in_one_number_give_all_four_values():
    resolution = resolve(readings("thirteen ninety"), D(0), D(10_000))

    assert {D(1390), D(1319), D(3090), D(3019)} == set(resolution.values)
    assert D(1390) == resolution.values[0]


@settings(deadline=None)
@given(
    st.integers(0, 99),
    st.sampled_from([value for pair in PAIRS for value in pair]),
    st.integers(0, 99_999),
    st.integers(0, 99_999),
    st.booleans(),
)
def test_no_teen_or_ty_is_taken_in_silence_while_its_other_half_is_in_range(
    hundreds, trap, low, high, grouped
):
    """Search over values, ranges and forms: the other value never is in range unasked."""
    value = hundreds * 100 + trap
    found = readings(say_group(str(value)) if grouped else say_everyday(value))
    lowest, highest = D(min(low, high)), D(max(low, high))
    resolution = resolve(found, lowest, highest)

    assert any(reading.sounds_like for reading in found)
    for reading in found:
        for other in reading.sounds_like:
            if lowest <= other <= highest:
                assert Outcome.CONFIRM is resolution.outcome
                assert other in resolution.values


@settings(deadline=None)
@given(st.text(max_size=40), st.integers(-1000, 1000), st.integers(0, 1000))
def test_a_value_that_comes_out_is_always_in_range(text, low, width):
    resolution = resolve(readings(text), D(low), D(low + width), 1)

    assert all(D(low) <= value <= D(low + width) for value in resolution.values)
    assert (resolution.outcome is Outcome.NONE) == (resolution.values == ())


def test_out_of_range_is_none_and_still_says_what_was_heard():
    resolution = resolve(readings("four zero"), D(0), D(32))

    assert (Outcome.NONE, (), (D(40),)) == (
        resolution.outcome,
        resolution.values,
        resolution.heard,
    )


def test_both_ends_of_the_range_belong_to_it():
    for text, value in (("zero", D(0)), ("three two", D(32))):
        assert value == resolve(readings(text), D(0), D(32)).value


@pytest.mark.parametrize(
    ("text", "value"),
    [("two four five", "24.5"), ("two forty five", "24.5"), ("one zero zero", "10.0")],
)
def test_a_point_that_may_have_been_left_out_is_asked_about(text, value):
    resolution = resolve(readings(text), D(0), D(32), 1)

    assert (Outcome.CONFIRM, (D(value),)) == (resolution.outcome, resolution.values)


@pytest.mark.parametrize("text", ["two hundred and forty five", "two four five point zero"])
def test_no_point_is_put_into_a_number_that_cannot_have_lost_one(text):
    assert Outcome.NONE is resolve(readings(text), D(0), D(32), 1).outcome


def test_an_altimeter_setting_without_its_point_is_asked_about():
    """29.92 inHg is said "two niner niner two" (JO 7110.65P 2-4-18, as printed at yumpu.com)."""
    resolution = resolve(readings("two niner niner two"), D(28), D(31), 2)

    assert (Outcome.CONFIRM, (D("29.92"),)) == (resolution.outcome, resolution.values)


def test_more_digits_than_the_gauge_can_show_are_asked_about():
    assert Outcome.CONFIRM is resolve(readings("two four point five five"), D(0), D(32), 1).outcome
    assert Outcome.ONE is resolve(readings("two four point five zero"), D(0), D(32), 1).outcome
    assert Outcome.CONFIRM is resolve(readings("two four point five"), D(0), D(32), 0).outcome


@pytest.mark.parametrize("text", ["for", "to", "oh", "point to", "two to five", "for one"])
def test_words_that_may_be_no_number_are_asked_about_even_when_in_range(text):
    assert Outcome.CONFIRM is resolve(readings(text), D(0), D(300), 1).outcome
