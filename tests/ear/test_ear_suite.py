"""One suite for every ear: what counts is heard, the rest is refused, each with its times.

An ear is a full engine if and only if it passes here.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from ear_signals import BENCHES, Bench, events, scramble

from callout.ear.protocol import Ear
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar, Phrase

IMPOSSIBLE = 1.01
"""A certainty that no ear can have."""


@pytest.fixture(scope="module", params=sorted(BENCHES))
def bench(request: pytest.FixtureRequest) -> Bench:
    return BENCHES[request.param]()


@pytest.fixture(scope="module")
def ear(bench: Bench) -> Iterator[Ear]:
    """One ear for the module: tests say what counts themselves."""
    made = bench.make()
    yield made
    made.close()


def grammar(*texts: str, serial: int = 7, certainty: float = 0.5) -> Grammar:
    return Grammar(serial, tuple(Phrase(text, f"means {text}", certainty) for text in texts))


def test_it_says_who_it_is(bench: Bench, ear: Ear):
    assert (bench.name, 16_000) == (ear.name, ear.rate)


def test_a_phrase_that_counts_is_heard(bench: Bench, ear: Ear):
    """With the grammar's serial, its own name, and at least the certainty asked for."""
    ear.listen_for(grammar(bench.one, bench.two))

    for text in (bench.one, bench.two):
        (event,) = events(ear, bench.signal(text, 100.0))
        assert isinstance(event, Heard), event
        assert (text, 7, bench.name) == (event.text, event.grammar, event.source)
        assert 0.5 <= event.certainty <= 1.0


def test_times_are_those_of_the_words(bench: Bench, ear: Ear):
    """A typed line is a moment; a spoken one lies inside its sound, without the silence after."""
    ear.listen_for(grammar(bench.one, bench.two))
    signal = bench.signal(bench.two, 300.0)

    (event,) = events(ear, signal)

    if isinstance(signal[0], str):
        assert (1.5, 1.5) == (event.began, event.ended)
    else:
        silence_from = signal[-1].ends_at - 1.5
        assert 300.8 <= event.began < event.ended <= silence_from + 0.15


def test_what_is_not_in_the_grammar_is_refused(bench: Bench, ear: Ear):
    ear.listen_for(grammar(bench.one, bench.two))

    heard = events(ear, bench.signal(bench.other, 500.0))

    assert heard
    assert all(isinstance(event, NotUnderstood) for event in heard), heard


def test_a_phrase_counts_no_longer_when_the_grammar_changed(bench: Bench, ear: Ear):
    ear.listen_for(grammar(bench.one, serial=8))
    ear.listen_for(grammar(bench.two, serial=9))

    heard = events(ear, bench.signal(bench.one, 700.0))
    (event,) = events(ear, bench.signal(bench.two, 800.0))

    assert [9] == [refused.grammar for refused in heard]
    assert all(isinstance(refused, NotUnderstood) for refused in heard), heard
    assert isinstance(event, Heard)
    assert 9 == event.grammar


def test_less_sure_than_asked_for_is_not_sure_enough(bench: Bench, ear: Ear):
    ear.listen_for(grammar(bench.one, bench.two, certainty=IMPOSSIBLE))

    (event,) = events(ear, bench.signal(bench.one, 900.0))

    assert isinstance(event, NotUnderstood)
    assert ("not sure enough", bench.one) == (event.why, event.guess)


def test_nothing_counts_in_an_empty_grammar(bench: Bench, ear: Ear):
    ear.listen_for(Grammar(11))

    (event,) = events(ear, bench.signal(bench.one, 1100.0))

    assert isinstance(event, NotUnderstood)
    assert "not in the grammar" == event.why


def test_silence_is_nothing(bench: Bench, ear: Ear):
    ear.listen_for(grammar(bench.one, bench.two))

    assert [] == events(ear, bench.silence)


def test_the_same_signal_is_understood_the_same(bench: Bench, ear: Ear):
    """By a fresh ear, and by one after other words and in a process that used randomness."""
    fresh = bench.make()
    for made in (fresh, ear):
        made.listen_for(grammar(bench.one, bench.two))
    events(ear, bench.signal(bench.two, 1200.0))
    scramble()

    expected = events(fresh, bench.signal(bench.one, 1300.0))
    actual = events(ear, bench.signal(bench.one, 1300.0))

    assert expected == actual
    fresh.close()
