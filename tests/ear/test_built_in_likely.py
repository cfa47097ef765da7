"""What is likely weighs too: answers of the item in hand, and values that a gauge can show."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from callout.checklist.load import load
from callout.ear.built_in.grammar_machine import (
    DOUBTFUL,
    IMPOSSIBLE,
    LONE_DIGIT_DOUBT,
    GrammarMachine,
)
from callout.engine.events import SessionOpened
from callout.engine.session import Session
from callout.words.phrases import EXPECTED, Grammar, NumberSlot, Phrase
from callout.words.universal import ALWAYS_HEARD, forms

REEDLARK = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"
TEMPERATURE = NumberSlot("read", Decimal(-40), Decimal(1000), 0, units=("degrees",))


@pytest.fixture
def asked() -> GrammarMachine:
    phrases = (Phrase("removed", "answer:removed", 0.5, EXPECTED), Phrase("no", "no"))
    return GrammarMachine(Grammar(1, phrases, (TEMPERATURE,)))


def test_a_value_that_the_gauge_cannot_show_is_rarely_meant(asked):
    assert 0.0 == asked.likely("six eight zero degrees")
    assert -IMPOSSIBLE == asked.likely("two six eight zero degrees")


def test_a_value_that_must_be_confirmed_is_between_the_two(asked):
    assert -DOUBTFUL == asked.likely("sixteen degrees")  # or sixty
    assert 0 < DOUBTFUL < IMPOSSIBLE


def test_an_answer_of_the_item_is_likelier_and_trusted_sooner_than_other_words(asked):
    assert EXPECTED == asked.likely("removed") == asked.trusted("removed")
    assert 0.0 == asked.likely("no") == asked.trusted("no")


def test_a_value_that_cannot_be_is_heard_as_surely_as_any_so_that_it_is_refused_aloud(asked):
    assert 0.0 == asked.trusted("two six eight zero degrees")


def test_one_digit_by_itself_is_trusted_less_where_the_gauge_shows_more(asked):
    assert -LONE_DIGIT_DOUBT == asked.trusted("six")
    assert 0.0 == asked.trusted("six six")


def test_right_and_wrong_answers_are_expected_alike_and_words_that_always_count_are_not():
    """Otherwise a right answer would be heard where the wrong one was said."""
    session = Session(load(REEDLARK))
    session.handle(SessionOpened(("walk-round",)), 0.0)
    likely = {phrase.text: phrase.likely for phrase in session.state.grammar.phrases}

    assert EXPECTED == likely["closed"] == likely["open"]
    assert {0.0} == {likely[text] for word in ALWAYS_HEARD for text in forms(word)}
