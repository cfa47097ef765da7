"""What callout let sound, found again by session time; and how calls are scored.

jiwer is the second opinion on counting wrong words.
"""

from __future__ import annotations

import itertools

import jiwer
import numpy as np
import pytest

from callout.audio_block import AudioBlock
from callout.benches.calls import Take, conditions, edits, worst
from callout.running.playback import Playback

RATE = 16_000


def sine(seconds: float, rate: int) -> np.ndarray:
    times = np.arange(round(seconds * rate)) / rate
    return (0.3 * np.sin(2 * np.pi * 440 * times)).astype(np.float32)


@pytest.mark.parametrize("rate", [16_000, 24_000, 48_000])
def test_blocks_of_a_device_are_found_where_they_were_given(rate: int) -> None:
    """The clock's jitter does not matter: samples are counted from the first block on."""
    jitter = itertools.cycle([0.0, 0.012, -0.006, 0.03])
    times = iter([5.0 + n * 0.01 + next(jitter) * (n > 0) for n in range(200)])
    playback = Playback(lambda: next(times))
    sound = np.concatenate([np.zeros(rate // 2), sine(1.0, rate), np.zeros(rate // 2)])
    for at in range(0, len(sound), rate // 100):
        playback.heard(sound[at : at + rate // 100].astype(np.float32), rate)
    found = playback.sound(5 * RATE, 2 * RATE)
    wanted = np.concatenate([np.zeros(RATE // 2), sine(1.0, RATE), np.zeros(RATE // 2)])
    assert np.corrcoef(found, wanted)[0, 1] > 0.99
    assert 0.0 == np.abs(playback.sound(4 * RATE, RATE)).max()


def test_a_device_that_stood_still_begins_a_new_count() -> None:
    times = iter([1.0, 1.01, 3.0])
    playback = Playback(lambda: next(times))
    for _ in range(3):
        playback.heard(np.full(160, 0.5, np.float32), RATE)
    assert 320 == np.count_nonzero(playback.sound(RATE, RATE))
    assert 160 == np.count_nonzero(playback.sound(3 * RATE, RATE))


def test_a_device_that_misses_samples_is_followed_when_it_stays_late() -> None:
    """It stands still for 30 ms: less than is astray, but every block is late from then on."""
    times = iter([1.0 + n * 0.01 + 0.03 * (n >= 50) for n in range(200)])
    playback = Playback(lambda: next(times))
    sound = np.zeros(200 * 160, np.float32)
    sound[150 * 160 :] = 0.5
    for at in range(0, len(sound), 160):
        playback.heard(sound[at : at + 160], RATE)
    loud = np.flatnonzero(playback.sound(RATE, 3 * RATE))
    assert 1.53 == pytest.approx(int(loud[0]) / RATE, abs=0.001)


def test_sentences_are_known_by_their_times() -> None:
    playback = Playback()
    playback.saying("Fuel lever?", 1.0, 2.0)
    playback.saying("Battery master?", 3.0, 4.0)
    playback.lay(AudioBlock(sine(0.1, 24_000), 24_000), 1.0)
    assert ["Fuel lever?"] == playback.said(1.9, 2.5)
    assert [] == playback.said(2.0, 3.0)
    assert 0.2 < np.abs(playback.sound(RATE, 1600)).max()


def test_wrong_words_are_counted_as_a_reference_counts_them() -> None:
    words = ["fuel", "lever", "cap", "main", "rotor"]
    random = np.random.default_rng(1)
    for _ in range(50):
        said = list(random.choice(words, 1 + random.integers(6)))
        heard = list(random.choice(words, random.integers(7)))
        counted = jiwer.process_words(" ".join(said), " ".join(heard))
        wrong = counted.substitutions + counted.deletions + counted.insertions
        assert wrong == edits(said, heard), (said, heard)


def test_the_worst_call_comes_first_and_never_with_more_than_all_its_words() -> None:
    takes = [
        Take("Fuel cap?", 10.0, "fuel cap", 0, 2),
        Take("Fuel cap?", 0.0, "fuel", 1, 2),
        Take("Pedals?", 10.0, "the man said", 3, 1),
        Take("Pedals?", 0.0, "pedals", 0, 1),
    ]
    assert [("Pedals?", 0.5), ("Fuel cap?", 0.25)] == [(f.call, f.wrong) for f in worst(takes, 5)]
    assert [(10.0, 0.5, 1.0), (0.0, 0.5, 1 / 3)] == [
        (row.snr, row.whole, row.wrong) for row in conditions(takes)
    ]
