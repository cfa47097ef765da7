"""Universal words: what each is, that they stay apart, and that some never answer."""

from __future__ import annotations

from decimal import Decimal

import pytest

from callout.words.normal import normalise
from callout.words.phrases import Grammar, NumberSlot
from callout.words.read_numbers import readings
from callout.words.understand import understand
from callout.words.universal import ALWAYS_HEARD, NEVER_A_VALUE, UNIVERSAL, Word, forms, word_of

# ICAO Doc 9432 / Annex 10 Volume II 5.2.1.5.8, as quoted by planeenglish.com.br and
# aero-coms.com; AFFIRMATIVE from the FAA glossary as quoted; the others are common
# practice, no source.
SPOKEN = [
    ("say again", Word.SAY_AGAIN),
    ("repeat", Word.SAY_AGAIN),
    ("stand by", Word.STAND_BY),
    ("standby", Word.STAND_BY),
    ("hold", Word.HOLD),
    ("resume", Word.RESUME),
    ("disregard", Word.DISREGARD),
    ("correction", Word.CORRECTION),
    ("abort", Word.ABORT),
    ("help", Word.HELP),
    ("what can i say", Word.HELP),
    ("defer", Word.DEFER),
    ("skip", Word.SKIP),
    ("override", Word.OVERRIDE),
    ("confirm override", Word.CONFIRM_OVERRIDE),
    ("why", Word.WHY),
    ("where am i", Word.WHERE_AM_I),
    ("what is open", Word.WHAT_IS_OPEN),
    ("who is next", Word.WHO_IS_NEXT),
    ("what is next", Word.WHO_IS_NEXT),
    ("go back", Word.GO_BACK),
    ("proceed", Word.PROCEED),
    ("affirm", Word.AFFIRM),
    ("affirmative", Word.AFFIRM),
    ("yes", Word.AFFIRM),
    ("negative", Word.NEGATIVE),
    ("no", Word.NEGATIVE),
    ("unable", Word.UNABLE),
    ("squawk", Word.SQUAWK),
    ("end squawk", Word.END_SQUAWK),
    ("play squawk", Word.PLAY_SQUAWK),
    ("next squawk", Word.NEXT_SQUAWK),
    ("clear squawk", Word.CLEAR_SQUAWK),
    ("close squawk", Word.CLEAR_SQUAWK),
    ("ground the aircraft", Word.GROUND),
]


@pytest.mark.parametrize(("text", "word"), SPOKEN)
def test_each_spoken_form_is_its_word(text, word):
    assert word == word_of(text)


def test_every_word_has_forms_and_its_value_is_the_first():
    assert set(Word) == set(UNIVERSAL)
    assert {word: word.value for word in Word} == {word: forms(word)[0] for word in Word}


def test_no_form_belongs_to_two_words():
    every = [form.text for spoken in UNIVERSAL.values() for form in spoken]

    assert len(every) == len(set(every))


def test_every_form_is_normalised_and_names_its_source():
    for spoken in UNIVERSAL.values():
        for form in spoken:
            assert form.text == normalise(form.text)
            assert form.source


def test_the_five_words_that_are_always_heard():
    assert {"say again", "stand by", "disregard", "abort", "help"} == {
        word.value for word in ALWAYS_HEARD
    }


@pytest.mark.parametrize("text", ["roger", "check", "checked", "set", "done", "wilco"])
def test_words_that_say_no_value_are_listed_are_no_universal_word_and_never_a_value(text):
    """ROGER is never a yes or no, CHECK expects no answer (ICAO, as quoted); "set" and
    "checked" are not informative (AC 120-71B 5.4, as quoted)."""
    slot = NumberSlot("volts", Decimal(0), Decimal(32), 1, units=("volts",))

    assert text in NEVER_A_VALUE
    assert word_of(text) is None
    assert readings(text) == ()
    assert understand(Grammar(1, numbers=(slot,)), text) is None


@pytest.mark.parametrize("text", ["roger", "over", "out", "break", "", "say", "again", "by"])
def test_other_words_are_no_universal_word(text):
    assert word_of(text) is None
