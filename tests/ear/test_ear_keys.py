"""Typed words: judged like spoken ones."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from callout.audio_block import AudioBlock
from callout.ear.keys_ear import KeysEar
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar, NumberSlot, Phrase

GRAMMAR = Grammar(
    4,
    (Phrase("battery on", "answer"), Phrase("say again", "word")),
    (NumberSlot("volts", Decimal(0), Decimal(30), 1, units=("volts",)),),
)


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("battery on", "battery on"),
        ("  Battery   ON \n", "battery on"),
        ("Say again.", "say again"),
        ("24.5 volts", "two four point five volts"),
        ("two four point five", "two four point five"),
    ],
)
def test_what_counts_is_heard_and_certain(typed: str, text: str):
    """Case, spaces and a final stop do not matter; numerals are the words they are read as."""
    ear = KeysEar(lambda: 12.5)
    ear.listen_for(GRAMMAR)

    assert [Heard(text, 1.0, 4, 12.5, 12.5, "keys")] == list(ear.hear(typed))


@pytest.mark.parametrize("typed", ["battery", "battery on please", "on", "volts", "battery onn"])
def test_nearly_right_is_refused(typed: str):
    """There is no nearest match."""
    ear = KeysEar(lambda: 3.0)
    ear.listen_for(GRAMMAR)

    expected = NotUnderstood("not in the grammar", typed, 1.0, 4, 3.0, 3.0, "keys")
    assert [expected] == list(ear.hear(typed))


def test_an_empty_line_and_sound_are_nothing():
    ear = KeysEar(lambda: 3.0)
    ear.listen_for(GRAMMAR)

    assert [] == [*ear.hear(""), *ear.hear("  \n")]
    assert [] == list(ear.hear(AudioBlock(np.zeros(320, np.float32), 16_000)))
