"""Numbers in the word graph: nothing that counts is missing, little that does not is there."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest
from num2words import num2words

from callout.ear.built_in.grammar_machine import GrammarMachine, forget, get_ready, kept_parts
from callout.ear.built_in.number_graph import add_number
from callout.ear.built_in.pronunciations import PHONES, pronunciations
from callout.ear.built_in.word_graph import ROOT, After, WordGraph
from callout.words.jsgf import samples
from callout.words.normal import normalise
from callout.words.phrases import Grammar, NumberSlot, Phrase
from callout.words.say_numbers import say_digits, say_everyday
from callout.words.understand import plain, understand
from callout.words.universal import UNIVERSAL, forms

SLOTS = {
    "percent": NumberSlot("value", Decimal(0), Decimal(110), units=("percent",)),
    "volts": NumberSlot("value", Decimal(0), Decimal(40), 1, units=("volts", "volt")),
    "outside air": NumberSlot("value", Decimal(-50), Decimal(50), units=("degrees celsius",)),
    "exhaust": NumberSlot("value", Decimal(0), Decimal(1200), before="correction"),
    "feet": NumberSlot("value", Decimal(0), Decimal(12500), units=("feet",)),
    "mach": NumberSlot("value", Decimal(0), Decimal(2), 2),
}


def graph_of(slot: NumberSlot) -> WordGraph:
    graph = WordGraph()
    add_number(graph, slot)
    return graph


def accepts(graph: WordGraph, text: str) -> bool:
    """Whether some path through the graph says the text, by sets of nodes."""
    nodes = {ROOT}
    for word in text.split():
        nodes |= {to for node in nodes for to in graph.skips.get(node, ())}
        nodes = {arc.end for arc in graph.arcs if arc.start in nodes and arc.word == word}
    return bool(nodes & graph.ends)


def heard_as(text: str) -> str:
    """The one spelling that the ear uses for a word: "niner" is a way to say nine."""
    return plain(text)


@pytest.mark.parametrize("name", SLOTS)
def test_every_form_of_the_number_grammar_is_listened_for(name: str) -> None:
    """What words can write as a grammar for other ears, this one hears too."""
    graph = graph_of(SLOTS[name])
    texts = list(samples(Grammar(1, (), (SLOTS[name],)), 3000))

    assert len(texts) > 100
    assert [] == [text for text in texts if not accepts(graph, heard_as(text))]


@pytest.mark.parametrize("name", SLOTS)
def test_what_is_listened_for_is_a_number(name: str) -> None:
    """Of random paths through the graph at most one in fifty is no number to understand()."""
    slot, graph = SLOTS[name], graph_of(SLOTS[name])
    after: dict[int, list] = {}
    for node in range(graph.nodes):
        onward = {node, *graph.skips.get(node, ())}
        if arcs := [arc for arc in graph.arcs if arc.start in onward]:
            after[node] = arcs
    choose, lost = random.Random(7), []
    for _ in range(1000):
        node, words = ROOT, []
        while not (node in graph.ends and (node not in after or choose.random() < 0.3)):
            arc = choose.choice(after[node])
            node = arc.end
            words.append(arc.word)
        if understand(Grammar(1, (), (slot,)), " ".join(words)) is None:
            lost.append(" ".join(words))

    assert len(lost) <= 20, lost


def test_every_value_of_a_gauge_is_heard_as_digits_and_in_everyday_words() -> None:
    """0 to 1200: digit by digit (ICAO Annex 10 II 5.2.1.4.1.1), and as num2words says it."""
    graph = graph_of(NumberSlot("value", Decimal(0), Decimal(1200)))
    lost = [
        text
        for value in range(0, 1201, 7)
        for text in (
            say_digits(Decimal(value), 0),
            normalise(num2words(value)),
            say_everyday(value, with_and=True),
        )
        if not accepts(graph, heard_as(text))
    ]

    assert [] == lost


@pytest.mark.parametrize("text", ["two five hundred", "fifty teen", "two point", "hundred", "and"])
def test_what_is_no_number_is_not_listened_for(text: str) -> None:
    """The graph is a grammar, no heap of words."""
    assert not accepts(graph_of(SLOTS["exhaust"]), f"correction {text}")


def test_a_known_grammar_is_not_compiled_again() -> None:
    """120 phrases and two numbers in another order, under another serial: the same machine."""
    words = [form for word in UNIVERSAL for form in forms(word)]
    texts = dict.fromkeys(words + [f"{one} {other}" for one in words[:10] for other in words[:9]])
    phrases = tuple(Phrase(text, text) for text in texts)
    grammar = Grammar(1, phrases, (SLOTS["volts"], SLOTS["exhaust"]))
    first = GrammarMachine(grammar)
    again = GrammarMachine(Grammar(2, phrases[::-1], grammar.numbers))
    forget()

    assert first.machine is again.machine
    assert first.machine is not GrammarMachine(grammar).machine


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        ("five", "F AY F"),  # FIFE, ICAO Annex 10 II 5.2.1.4.3 as quoted
        ("three", "T R IY"),  # TREE
        ("four", "F OW ER"),  # FOW-er
        ("nine", "N AY N ER"),  # NIN-er
        ("zero", "Z IY R OW"),  # ZE-RO
        ("latched", "L AE CH T"),  # CMU Pronouncing Dictionary
        ("n1", "EH N W AH N"),  # letter and figure
        ("clear", "K L IH AH"),  # the R of "near" leaves a weak vowel, the same
        ("dark", "D AA K"),  # no R but before a vowel: Wells, Accents of English, from memory
        ("minus", "M AY N IH S"),  # weak vowel, the same
    ],
)
def test_radiotelephony_and_dictionary_words_are_heard(word: str, phones: str) -> None:
    """Digits sound as the radio says them, other words as the dictionary does."""
    assert tuple(phones.split()) in pronunciations(word)


@pytest.mark.parametrize(
    ("word", "phones"),
    [("zero", "Z IY OW"), ("released", "IY L IY S T"), ("up", "IH P"), ("clear", "K L IH")],
)
def test_an_r_before_a_vowel_and_the_first_vowel_are_said_in_every_accent(
    word: str, phones: str
) -> None:
    assert tuple(phones.split()) not in pronunciations(word)


@pytest.mark.parametrize("word", ["gascolator", "swashplate", "egt", "é", "7x", "xyzzy", "ъ"])
def test_any_word_an_owner_invents_gets_phones(word: str) -> None:
    """No word is without a sound, whatever alphabet it is in."""
    ways = pronunciations(word)

    assert ways
    assert all(way and set(way) <= set(PHONES) for way in ways)


def test_a_phrase_with_which_another_begins_may_go_on() -> None:
    """ "stand" waits where "stand by" counts, and "correction" where a number may follow it."""
    slot = NumberSlot("value", Decimal(0), Decimal(9), before="correction")
    texts = ("stand", "stand by", "standing", "correction", "checked")
    machine = GrammarMachine(Grammar(1, tuple(Phrase(t, t) for t in texts), (slot,)))
    lasts = {}
    for state, node in zip(machine.machine.finals, machine.machine.final_nodes, strict=True):
        if machine.machine.ends_word[state] >= 0:
            word = machine.machine.word_arcs[machine.machine.ends_word[state]].word
            lasts.setdefault(word, set()).add(machine.after(int(node)))

    assert lasts["stand"] == lasts["correction"] == {After.MORE}
    assert lasts["by"] == lasts["standing"] == lasts["checked"] == {After.NOTHING}


def test_what_was_made_ready_is_not_compiled_again() -> None:
    """A grammar of parts that are ready leaves the machines of phrases and numbers as they are."""
    grammar = Grammar(1, (Phrase("full and free", "a"),), (SLOTS["volts"],))
    forget()
    get_ready([grammar])
    parts = kept_parts()
    GrammarMachine(Grammar(2, (Phrase("full and free", "b", 0.9),), (SLOTS["volts"],)))

    assert kept_parts() == parts == (1, 1)
