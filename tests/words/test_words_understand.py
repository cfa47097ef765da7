"""A text in a grammar: a phrase, a number with its words, or nothing."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from callout.words.jsgf import HEARD_WORDS, vocabulary
from callout.words.number_words import DIGITS
from callout.words.phrases import Grammar, NumberSlot, Phrase
from callout.words.read_numbers import readings
from callout.words.resolve import Outcome
from callout.words.understand import plain, understand

D = Decimal

GRAMMAR = Grammar(
    7,
    phrases=(
        Phrase("off", "answer:off", 0.7),
        Phrase("say again", "word:say again"),
        Phrase("what is open", "word:what is open"),
        Phrase("runway two nine", "answer:runway"),
        Phrase("four", "answer:four"),
        Phrase("okay", "answer:ok"),
    ),
    numbers=(
        NumberSlot("volts", D(0), D(32), 1, units=("volts", "volt", "v"), certainty=0.6),
        NumberSlot("again", D(0), D(32), 1, before="correction", units=("volts", "per cent")),
    ),
)


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("off", "answer:off"),
        ("OFF.", "answer:off"),
        ("Say again!", "word:say again"),
        ("what's open", "word:what is open"),
        ("runway 29", "answer:runway"),
        ("runway two niner", "answer:runway"),
        ("O.K.", "answer:ok"),
        ("o k", "answer:ok"),
    ],
)
def test_a_phrase_is_understood_word_for_word_in_any_spelling(text, means):
    match = understand(GRAMMAR, text)

    assert match is not None
    assert (means, None) == (match.means, match.numbers)


@pytest.mark.parametrize(
    ("text", "means", "value"),
    [
        ("two four point five", "volts", "24.5"),
        ("two four point five volts", "volts", "24.5"),
        ("one volt", "volts", "1"),
        ("24.5 V", "volts", "24.5"),
        ("correction two five", "again", "25"),
        ("correction, 25 percent", "again", "25"),
        ("correction two five volts", "again", "25"),
    ],
)
def test_a_number_is_understood_with_the_words_around_it(text, means, value):
    match = understand(GRAMMAR, text)

    assert match is not None
    assert match.numbers is not None
    assert (means, D(value)) == (match.means, match.numbers.value)


@pytest.mark.parametrize("text", ["two five degrees celsius", "two five celsius", "two five"])
def test_a_unit_that_ends_in_another_unit_is_taken_whole(text):
    slot = NumberSlot("outside", D(-40), D(50), units=("celsius", "degrees celsius"))
    match = understand(Grammar(1, numbers=(slot,)), text)

    assert match is not None
    assert match.numbers is not None
    assert D(25) == match.numbers.value


def test_the_certainty_asked_for_is_that_of_the_phrase_or_slot():
    texts = ["off", "one five point zero", "correction one"]
    matches = [understand(GRAMMAR, text) for text in texts]

    assert [match.certainty for match in matches if match is not None] == [0.7, 0.6, 0.5]


def test_an_exact_phrase_wins_over_a_number():
    match = understand(GRAMMAR, "four")

    assert match is not None
    assert (match.means, match.numbers) == ("answer:four", None)


def test_a_number_the_gauge_cannot_show_is_a_match_that_says_so():
    match = understand(GRAMMAR, "four zero zero zero volts")

    assert match is not None
    assert match.numbers is not None
    assert (Outcome.NONE, (D(4000),)) == (match.numbers.outcome, match.numbers.heard)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "...",
        "offf",
        "off off",
        "switch off",
        "off now",
        "say",
        "again",
        "volts",
        "correction",
        "correction off",
        "correction volts",
        "correction correction two five",
        "two five correction",
        "two five percent",
        "two five volts volts",
        "two five volts volt",
        "volts two five",
        "roger",
        "checked",
        "set",
        "two five roger",
        "about two five",
        "two five or two six",
        "the voltage is two five volts",
    ],
)
def test_anything_else_is_nothing(text):
    assert understand(GRAMMAR, text) is None


def test_an_empty_grammar_understands_nothing():
    for text in ("", "off", "two five"):
        assert understand(Grammar(1), text) is None


def test_an_empty_phrase_is_never_matched_by_silence():
    assert understand(Grammar(1, phrases=(Phrase("", "x"), Phrase("...", "y"))), "") is None


ENGLISH = (
    "the quick brown fox off say again what is open runway four okay correction volts point to for "
    "two five fifteen fifty hundred and minus maybe checked set"
)


@settings(deadline=None)
@given(st.lists(st.sampled_from(ENGLISH.split()), max_size=8))
def test_free_text_never_matches_unless_it_is_a_whole_phrase_or_number(words):
    text = " ".join(words)
    phrases = {plain(phrase.text) for phrase in GRAMMAR.phrases}
    assume(plain(text) not in phrases)
    match = understand(GRAMMAR, text)

    if match is not None:
        rest = text.removeprefix("correction ").removesuffix(" volts")
        assert readings(rest)
        assert set(rest.split()) <= {*HEARD_WORDS, "to", "for"}


@settings(deadline=None)
@given(st.text(max_size=60))
def test_random_text_matches_only_with_words_of_the_grammar(text):
    match = understand(GRAMMAR, text)

    if match is not None:
        assert set(plain(text).split()) <= vocabulary(GRAMMAR) | set(DIGITS) | {"a", "dot", "plus"}


def test_long_text_is_refused_without_being_read():
    """Its length is all that is asked of it: whatever else is asked of this text raises."""

    class Unread(str):
        __slots__ = ()

        def __getattribute__(self, name):
            raise AssertionError(name)

        def __iter__(self):
            raise AssertionError

        __hash__ = None

    assert understand(GRAMMAR, Unread("off " * 1_000_000)) is None
    with pytest.raises((AssertionError, TypeError)):
        understand(GRAMMAR, Unread("off"))
