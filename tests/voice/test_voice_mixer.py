"""What the sound card's callback makes: exact samples, quick cuts, one voice at a time."""

import numpy as np
import pytest

from callout.voice.mixer import CUT_FADE, Mixer, Playing

RATE = 24_000
BLOCK = 240  # 10 ms, what the loudspeaker asks for


def clip(seconds: float, frequency: float = 500) -> Playing:
    at = np.arange(round(seconds * RATE)) / RATE
    return Playing((0.5 * np.sin(2 * np.pi * frequency * at)).astype(np.float32), lambda: None)


def blocks(mixer: Mixer, count: int, size: int = BLOCK) -> tuple[np.ndarray, list[Playing]]:
    sound, ended = [], []
    for _ in range(count):
        block = np.full(size, 9.0, np.float32)  # what was in the buffer must not be heard
        playing, _ = mixer.fill(block)
        sound.append(block)
        if playing is not None:
            ended.append(playing)
    return np.concatenate(sound), ended


@pytest.mark.parametrize("size", [64, 240, 441, 4096])
def test_a_clip_goes_out_sample_by_sample_and_then_silence(size):
    mixer, one = Mixer(RATE), clip(0.2)
    mixer.play(one)
    sound, ended = blocks(mixer, 9600 // size, size)

    np.testing.assert_array_equal(one.samples, sound[: len(one.samples)])
    assert not sound[len(one.samples) :].any()
    assert [one] == ended


def test_a_cut_is_silent_five_milliseconds_into_the_next_block():
    mixer = Mixer(RATE)
    mixer.play(clip(1.0))
    before, _ = blocks(mixer, 10)
    mixer.stop()
    after, ended = blocks(mixer, 10)

    fade = round(CUT_FADE * RATE)
    assert fade / RATE <= 0.01
    assert before[-BLOCK:].any()
    assert after[:fade].any()
    assert not after[fade:].any()
    assert [] == ended


def test_a_cut_does_not_click():
    """No step between samples greater than the sound itself makes."""
    mixer = Mixer(RATE)
    mixer.play(clip(1.0))
    before, _ = blocks(mixer, 7)
    mixer.stop()
    after, _ = blocks(mixer, 2)

    steepest = np.abs(np.diff(before)).max()
    assert np.abs(np.diff(np.concatenate((before[-1:], after)))).max() <= steepest * 1.05


def test_another_clip_cuts_the_first_and_starts_in_the_same_block():
    mixer, warning = Mixer(RATE), clip(0.1, 1000)
    mixer.play(clip(1.0))
    blocks(mixer, 5)
    mixer.play(warning)
    sound, ended = blocks(mixer, 20)

    fade = round(CUT_FADE * RATE)
    np.testing.assert_array_equal(warning.samples[fade:], sound[fade : len(warning.samples)])
    assert [warning] == ended


def test_a_clip_that_follows_waits_for_the_end_of_the_first():
    mixer, tone, sentence = Mixer(RATE), clip(0.075, 1200), clip(0.2)
    mixer.play(tone)
    mixer.follow(sentence)
    sound, ended = blocks(mixer, 40)

    start = -(-len(tone.samples) // BLOCK) * BLOCK
    np.testing.assert_array_equal(tone.samples, sound[: len(tone.samples)])
    np.testing.assert_array_equal(sentence.samples, sound[start : start + len(sentence.samples)])
    assert [tone, sentence] == ended


def test_a_clip_that_follows_nothing_starts_at_once():
    mixer, first, second = Mixer(RATE), clip(0.01), clip(0.1)
    mixer.play(first)
    blocks(mixer, 3)
    mixer.follow(second)
    sound, _ = blocks(mixer, 1)

    np.testing.assert_array_equal(second.samples[:BLOCK], sound)


def test_a_cut_also_drops_what_would_have_followed():
    mixer = Mixer(RATE)
    mixer.play(clip(0.1))
    mixer.follow(clip(0.1))
    mixer.follow(clip(0.1))
    blocks(mixer, 2)
    mixer.stop()
    blocks(mixer, 1)
    sound, ended = blocks(mixer, 60)

    assert not sound.any()
    assert [] == ended
