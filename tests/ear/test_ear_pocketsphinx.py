"""The PocketSphinx ear on recordings: numbers, rejection, words that no dictionary has."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

import pytest
from ear_clips import Clip, as_blocks, clip, clips, in_room, talk
from ear_signals import events

from callout.ear.choose import make_ear
from callout.ear.pocketsphinx_ear import GRAMMARS_KEPT, PocketSphinxDecoder, unknown_words
from callout.ear.spoken_ear import SpokenEar
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar, NumberSlot, Phrase
from callout.words.understand import understand
from callout.words.universal import Word, forms

UNIVERSAL = tuple(Phrase(text, word.name) for word in Word for text in forms(word))
VOLTS = NumberSlot("volts", Decimal(0), Decimal(40), 1, units=("volts", "volt"))


@pytest.fixture(scope="module")
def ear() -> Iterator[SpokenEar]:
    made = make_ear("pocketsphinx")
    assert isinstance(made, SpokenEar)
    yield made
    made.close()


def answers(*texts: str, certainty: float = 0.5) -> Grammar:
    own = tuple(Phrase(text, f"answer {text}", certainty) for text in texts)
    return Grammar(3, (*own, *(p for p in UNIVERSAL if p.text not in texts)))


def heard(ear: SpokenEar, one: Clip) -> list[Heard | NotUnderstood]:
    return events(ear, as_blocks(in_room(one.samples)))


def test_answers_are_heard_among_all_universal_words(ear: SpokenEar):
    """Two speakers of each of ten phrases: none mistaken, three quarters not missed.

    measure_pocketsphinx.py finds 84 of 100 phrases heard and 2 mistaken.
    """
    texts = ("battery on", "fuel on", "doors closed", "no leaks", "checked")
    ear.listen_for(answers(*texts))
    chosen = [
        one for one in clips() if one.kind == "synthetic" and understand(answers(*texts), one.text)
    ]

    found = [(one, heard(ear, one)) for one in chosen]

    right = [
        one for one, got in found if [one.text] == [e.text for e in got if isinstance(e, Heard)]
    ]
    wrong = [
        (one.text, e)
        for one, got in found
        for e in got
        if isinstance(e, Heard) and e.text.replace("standby", "stand by") != one.text
    ]
    assert [] == wrong
    assert len(right) >= 0.75 * len(chosen), (len(right), len(chosen))


def test_numbers_with_a_unit_are_heard_as_their_value(ear: SpokenEar):
    """Five of the seven at least, and never another value that the gauge could show."""
    grammar = Grammar(5, UNIVERSAL, (VOLTS,))
    ear.listen_for(grammar)
    chosen = [one for one in clips() if one.text.endswith("volts")]

    found = [
        (one.text, [e.text for e in heard(ear, one) if isinstance(e, Heard)]) for one in chosen
    ]

    assert 7 == len(chosen)
    assert sum(values(grammar, said) == values(grammar, *got) for said, got in found) >= 5, found
    for said, got in found:
        assert values(grammar, *got) in ((), values(grammar, said)), found


def values(grammar: Grammar, *texts: str) -> tuple[Decimal, ...]:
    """What the gauge can show of what was heard."""
    matches = [understand(grammar, text) for text in texts]
    return tuple(v for match in matches if match and match.numbers for v in match.numbers.values)


def test_hardly_any_other_word_ticks_a_killer_item(ear: SpokenEar):
    """Words outside the grammar, at the certainty of killer items: at most one gets through.

    measure_pocketsphinx.py finds that 4 of 100 single words do, which is why this
    ear is the reference and not the one to start a turbine with.
    """
    grammar = answers("battery on", "fuel on", "doors closed", certainty=0.7)
    ear.listen_for(grammar)
    strange = [
        one
        for one in clips()
        if one.kind != "talk" and understand(grammar, one.text) is None and "volts" not in one.text
    ]

    ticked = [
        (one.text, event.text)
        for one in strange
        for event in heard(ear, one)
        if isinstance(event, Heard) and event.text in ("battery on", "fuel on", "doors closed")
    ]

    assert len(strange) >= 14
    assert len(ticked) <= 1, ticked


def test_somebody_reading_a_book_ticks_nothing(ear: SpokenEar):
    ear.listen_for(answers("battery on", "fuel on", "doors closed"))

    got = events(ear, as_blocks(in_room(talk())))

    assert got
    assert [] == [event for event in got if isinstance(event, Heard)]


def test_a_word_that_no_dictionary_has_is_heard_by_its_spelling():
    """ "swashplate" is in no edition of the CMU dictionary; espeak-ng spells it out."""
    decoder = PocketSphinxDecoder()
    grammar = Grammar(1, (Phrase("swashplate free", "a"), Phrase("battery on", "b")))

    decoder.prepare(grammar)

    assert () == unknown_words(grammar)
    assert "S W AA SH P L EY T" == decoder._decoder.lookup_word("swashplate")
    decoder.close()


def test_what_cannot_be_pronounced_is_named_and_not_taken_for_the_rest_of_its_phrase():
    """Without its Korean word "battery on 온" would be "battery on"."""
    grammar = Grammar(1, (Phrase("battery on 온", "a"), Phrase("fuel on", "b")))
    ear = make_ear("pocketsphinx")
    ear.listen_for(grammar)

    got = events(ear, as_blocks(in_room(clip("battery on").samples)))

    assert ("온",) == unknown_words(grammar)
    assert [] == [event for event in got if isinstance(event, Heard)]
    ear.close()


def test_more_grammars_than_are_kept_do_no_harm():
    """A flying day has hundreds; the first one is compiled anew when it comes back."""
    decoder = PocketSphinxDecoder()
    grammars = [
        Grammar(n, (Phrase("battery on", "a"), Phrase(f"{word} on", "b")))
        for n, word in enumerate(sorted({w for p in UNIVERSAL for w in p.text.split()}) * 3)
    ]
    sound = in_room(clip("battery on").samples)
    expected = decoder.decode(sound, grammars[0])

    for grammar in grammars[: GRAMMARS_KEPT + 10]:
        decoder.prepare(grammar)

    assert expected == decoder.decode(sound, grammars[0])
    assert "battery on" == expected.text
    assert len(decoder._grammars) <= GRAMMARS_KEPT
    decoder.close()


def test_an_answer_that_began_before_the_grammar_changed_is_marked_as_late(ear: SpokenEar):
    ear.listen_for(Grammar(20, (Phrase("battery on", "a"),)))
    sound = as_blocks(in_room(clip("battery on").samples))
    middle = 1.0 + len(clip("battery on").samples) / 32_000

    got = events(ear, [block for block in sound if block.captured_at < middle])
    ear.listen_for(Grammar(21, (Phrase("fuel on", "b"),)))
    got += events(ear, [block for block in sound if block.captured_at >= middle])

    assert [("battery on", 20)] == [(event.text, event.grammar) for event in got]
