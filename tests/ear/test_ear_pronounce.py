"""Pronunciations: the CMU dictionary, and two ways of spelling measured against it."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable

import pytest

from callout.ear.espeak_phones import to_arpabet
from callout.ear.pronounce import (
    Phones,
    by_espeak,
    by_voice,
    dictionary,
    spell,
    to_phones,
)


def distance(one: Phones, other: Phones) -> int:
    """Levenshtein's distance in phones."""
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, start=1):
        last, row[0] = row[0], i
        for j, b in enumerate(other, start=1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (a != b))
    return row[-1]


def test_the_dictionary_has_every_pronunciation_of_a_word():
    """As in the published CMU Pronouncing Dictionary, without stress."""
    assert (("DH", "AH"), ("DH", "IY")) == dictionary()["the"]
    assert (("N", "AY", "N", "ER"),) == dictionary()["niner"]
    assert len(dictionary()) > 100_000


@pytest.mark.parametrize("way", [by_voice, by_espeak], ids=lambda way: way.__name__)
def test_spelling_comes_near_the_dictionary(way: Callable[[Iterable[str]], dict[str, Phones]]):
    """400 of its words, chosen by chance: fewer than 15 wrong phones in a hundred.

    Rule-based English spelling at 10 % is common (from memory); 10 and 11 % are measured here.
    """
    words = random.Random(1).sample([word for word in dictionary() if word.isalpha()], 400)

    spelled = way(words)

    errors = sum(min(distance(p, spelled[w]) for p in dictionary()[w]) for w in words)
    phones = sum(len(spelled[word]) for word in words)
    assert set(words) == set(spelled)
    assert errors / phones < 0.15, errors / phones


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        ("magneto", "M AE G N IY T OW"),
        ("torquemeter", "T AO R K W IH M IY T ER"),
        ("n1", "EH N W AH N"),
        ("annunciators", "AH N AH N S IH EY T ER Z"),
    ],
)
def test_words_of_the_trade(word: str, phones: str):
    assert {word: tuple(phones.split())} == by_espeak([word])


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        ("magneto", "M AE G N IY T OW"),
        ("gyroplane", "JH AY R AH P L EY N"),
        ("twistgrip", "T W IH S T G R IH P"),
    ],
)
def test_words_of_the_trade_without_espeak(word: str, phones: str):
    assert len(phones.split()) == len(by_voice([word])[word])
    assert distance(tuple(phones.split()), by_voice([word])[word]) <= 2
    assert by_voice([word]) == spell([word])


def test_what_the_voice_cannot_spell_is_told():
    assert () == to_phones("tˈʘ")


def test_what_has_no_english_sound_is_left_out():
    assert {} == spell(["온", "", " "])


@pytest.mark.parametrize(
    ("ipa", "phones"),
    [("tʃˈɛɹ", "CH EH R"), ("mˈɛʒɚ", "M EH ZH ER"), ("θˈɪŋ", "TH IH NG"), ("dʒˈɛt", "JH EH T")],
)
def test_ipa_becomes_arpabet(ipa: str, phones: str):
    """Chair, measure, thing, jet: as the CMU dictionary has them."""
    assert phones.split() == to_arpabet(ipa)


def test_a_symbol_that_english_lacks_is_refused():
    with pytest.raises(ValueError, match="ʘ"):
        to_arpabet("ʘa")
