"""Grammars for recognisers, held against PocketSphinx's own JSGF compiler."""

from __future__ import annotations

from decimal import Decimal
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pocketsphinx import FsgModel, Jsgf, LogMath, get_model_path

from callout.words.jsgf import (
    meant_samples,
    phrase_list,
    samples,
    to_jsgf,
    unsayable,
    vocabulary,
)
from callout.words.number_words import HEARD_WORDS, TRAPS
from callout.words.phrases import Grammar, NumberSlot, Phrase
from callout.words.read_numbers import MOST_TRAPS, readings
from callout.words.understand import plain, understand
from callout.words.universal import UNIVERSAL

D = Decimal

VOLTS = NumberSlot("volts", D(0), D(32), 1, units=("volts", "volt"))
OUTSIDE = NumberSlot("outside", D(-40), D(1200), 0, units=("degrees", "degrees celsius"))
GRAMMAR = Grammar(
    3,
    phrases=(
        Phrase("off", "off"),
        Phrase("runway 29", "runway"),
        Phrase("public import grammar", "reserved"),
        *(Phrase(form.text, word.name) for word, forms in UNIVERSAL.items() for form in forms),
    ),
    numbers=(
        OUTSIDE,
        NumberSlot("again", D(0), D(32), 1, before="correction", units=("volts", "volt")),
        NumberSlot("fine", D("28.00"), D("31.00"), 2, before="altimeter setting"),
    ),
)


def compiled(grammar: Grammar, folder: Path) -> FsgModel:
    """The grammar as PocketSphinx's own compiler understands it."""
    path = folder / "callout.gram"
    path.write_text(to_jsgf(grammar), encoding="utf-8")
    jsgf = Jsgf(str(path))
    return jsgf.build_fsg(jsgf.get_rule("callout.callout"), LogMath(), 1.0)


@pytest.fixture(scope="module")
def machine(tmp_path_factory) -> FsgModel:
    return compiled(GRAMMAR, tmp_path_factory.mktemp("jsgf"))


def test_the_whole_file_for_a_small_grammar():
    text = to_jsgf(Grammar(1, phrases=(Phrase("off", "a"), Phrase("runway 29", "b"))))

    assert text.splitlines() == [
        "#JSGF V1.0 UTF-8;",
        "grammar callout;",
        "public <callout> = <phrase>;",
        "<phrase> = off | runway two (nine | niner);",
    ]


def test_every_sample_is_accepted_by_the_compiled_grammar_and_understood_as_it_was_meant(machine):
    given_samples = list(meant_samples(GRAMMAR, 4000))

    assert len(given_samples) == 4000
    for sample in given_samples:
        match = understand(GRAMMAR, sample.text)
        assert machine.accept(sample.text)
        assert match is not None
        assert sample.means == match.means


def test_samples_are_different_bounded_and_always_the_same():
    first = list(samples(GRAMMAR, 500))

    assert len(set(first)) == len(first) == 500
    assert list(samples(GRAMMAR, 500)) == first
    assert list(samples(GRAMMAR, 0)) == []


def test_samples_cover_every_phrase_slot_and_both_ends_of_each_range():
    grammar = Grammar(1, phrases=(Phrase("off", "off"),), numbers=(VOLTS,))
    every = list(meant_samples(grammar, 100_000))
    values = {
        match.numbers.heard[0]
        for match in (understand(grammar, sample.text) for sample in every)
        if match is not None and match.numbers is not None
    }

    assert {"off", "volts"} == {sample.means for sample in every}
    assert {D(tenths) / 10 for tenths in range(321)} == values


@pytest.fixture(scope="module")
def numbers(tmp_path_factory) -> FsgModel:
    slot = NumberSlot("any", D(0), D(1))
    return compiled(Grammar(1, numbers=(slot,)), tmp_path_factory.mktemp("numbers"))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "off off",
        "volts",
        "correction off",
        "two hundred and thirty zero",
        "two point",
        "point",
        "minus",
        "hundred",
        "two five volts",
        "altimeter setting",
        "two five degrees degrees",
        "banana",
    ],
)
def test_what_is_in_no_form_is_refused_by_the_compiled_grammar(machine, text):
    assert not machine.accept(text)


@pytest.mark.parametrize("text", ["runway two nine", "runway two niner"])
def test_nine_in_a_phrase_may_be_said_niner(machine, text):
    match = understand(GRAMMAR, text)

    assert machine.accept(text)
    assert match is not None
    assert match.means == "runway"


@settings(deadline=None)
@given(words=st.lists(st.sampled_from(sorted(vocabulary(GRAMMAR))), min_size=1, max_size=7))
def test_what_is_understood_is_what_the_compiled_grammar_accepts(machine, words):
    """Nothing made of words of the grammar is understood and cannot be heard."""
    text = " ".join(words)
    if understand(GRAMMAR, text) is not None:
        assert machine.accept(text)


@settings(max_examples=1000, deadline=None)
@given(words=st.lists(st.sampled_from(HEARD_WORDS), min_size=1, max_size=6))
def test_number_words_are_read_exactly_when_the_compiled_grammar_accepts_them(numbers, words):
    """Two descriptions of the same language, the reader and the rules, held together."""
    text = " ".join(words)
    traps = sum(word in TRAPS for word in words)

    assert (numbers.accept(text) and traps <= MOST_TRAPS) == bool(readings(text))


FEW = "zero oh one nine ten nineteen twenty hundred thousand and point minus"


@pytest.mark.parametrize("length", [1, 2, 3])
def test_every_short_mixture_of_number_words_is_in_both_or_in_neither(numbers, length):
    few = FEW.split()
    for words in product(few, repeat=length):
        text = " ".join(words)
        assert numbers.accept(text) == bool(readings(text)), text


def test_an_empty_grammar_compiles_and_accepts_nothing(tmp_path):
    machine = compiled(Grammar(1), tmp_path)

    assert not machine.accept("off")


def test_a_phrase_that_cannot_be_written_is_refused_by_name():
    assert unsayable("valve 1.2.3") == ("1.2.3",)
    with pytest.raises(ValueError, match=r"'valve 1\.2\.3' cannot be listened for"):
        to_jsgf(Grammar(1, phrases=(Phrase("valve 1.2.3", "x"),)))


def test_every_number_word_is_in_the_dictionary_that_pocketsphinx_brings():
    """CMU's US English dictionary: no word of a number needs a made-up pronunciation."""
    dictionary = Path(get_model_path("en-us/cmudict-en-us.dict")).read_text(encoding="utf-8")
    known = {line.split()[0] for line in dictionary.splitlines() if line}

    assert set(HEARD_WORDS) <= known
    assert {word for form in UNIVERSAL.values() for f in form for word in f.text.split()} <= known


def test_the_vocabulary_is_every_word_that_can_be_said():
    grammar = Grammar(1, phrases=(Phrase("fuel off", "x"), Phrase("gate nine", "y")))

    assert {"fuel", "off", "gate", "nine", "niner"} == vocabulary(grammar)
    assert vocabulary(Grammar(1, numbers=(VOLTS,))) == {*HEARD_WORDS, "volts", "volt"}


def test_the_phrase_list_has_phrases_then_units_and_number_words_each_once():
    grammar = Grammar(
        1,
        phrases=(Phrase("fuel off", "x"),),
        numbers=(VOLTS, NumberSlot("again", D(0), D(1), before="correction", units=("volts",))),
    )

    assert ("fuel off", "volts", "volt", "correction", *HEARD_WORDS) == phrase_list(grammar)
    assert phrase_list(Grammar(1)) == ()
    assert all(entry == plain(entry) or "niner" in entry for entry in phrase_list(GRAMMAR))
