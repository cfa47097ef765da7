"""Where speech begins and ends, on recorded words over the noise of a room."""

from __future__ import annotations

import numpy as np
import pytest
from ear_clips import RATE, as_blocks, clip, clips, in_room, talk

from callout.audio_block import AudioBlock
from callout.ear.endpoint import CHUNK, Endpointer, Manner, Utterance


def heard(blocks: list[AudioBlock], manner: Manner | None = None) -> list[Utterance]:
    endpointer = Endpointer(manner or Manner())
    return [utterance for block in blocks for utterance in endpointer.feed(block)]


def extent(samples: np.ndarray) -> tuple[float, float]:
    """Seconds at which a clean clip's energy comes within 35 dB of its loudest 10 ms."""
    power = (samples[: len(samples) // 160 * 160].reshape(-1, 160) ** 2).mean(axis=1)
    loud = np.flatnonzero(power > power.max() * 10**-3.5)
    return loud[0] / 100, (loud[-1] + 1) / 100


def test_each_word_is_one_utterance_at_its_time():
    """Fourteen recordings of people and voices; times within a fifth of a second."""
    chosen = [one for one in clips() if one.kind == "synthetic"][:14]

    for one in chosen:
        (utterance,) = heard(as_blocks(in_room(one.samples)))
        begins, ends = extent(one.samples)
        assert utterance.began == pytest.approx(1.0 + begins, abs=0.2), one
        assert utterance.ended == pytest.approx(1.0 + ends, abs=0.2), one
        assert utterance.whole
        assert utterance.sound.captured_at <= utterance.began
        assert utterance.sound.ends_at >= utterance.ended


@pytest.mark.parametrize("size", [37, 160, 4096, 10**6])
def test_the_size_of_the_blocks_changes_nothing(size: int):
    sound = in_room(clip("say again").samples, clip("abort").samples)

    expected = heard(as_blocks(sound))
    actual = heard(as_blocks(sound, size))

    assert [(u.began, u.ended) for u in expected] == [
        (pytest.approx(u.began), pytest.approx(u.ended)) for u in actual
    ]
    for one, other in zip(expected, actual, strict=True):
        assert np.array_equal(one.sound.samples, other.sound.samples)


@pytest.mark.parametrize("strength", [0.0, 0.0005, 0.02])
def test_silence_and_steady_noise_are_no_speech(strength: float):
    noise = np.random.default_rng(2).normal(0, 1, 10 * RATE) * strength

    assert [] == heard(as_blocks(noise.astype(np.float32)))


def test_what_a_decoder_gets_is_never_digital_silence():
    """A word cut out of pure zeros comes with noise around it."""
    sound = np.pad(clip("abort").samples * 0.3, RATE)

    (utterance,) = heard(as_blocks(sound))

    frames = utterance.sound.samples[: len(utterance.sound.samples) // 160 * 160].reshape(-1, 160)
    assert np.all(frames.std(axis=1) > 1e-5)


def test_talk_that_does_not_end_is_no_answer():
    """Ten seconds without a pause of 2 s: longer than any answer, and kept to the limit."""
    manner = Manner(patience=2.0)

    (utterance,) = heard(
        [*as_blocks(in_room(talk())), *as_blocks(in_room(), starts_at=16.5)], manner
    )

    assert not utterance.whole
    assert utterance.sound.seconds < manner.longest + 1.0


def test_sound_that_is_lost_inside_a_word_spoils_it():
    sound = in_room(clip("battery on").samples)
    middle = 1.0 + clip("battery on").samples.size / RATE / 2
    early = [b for b in as_blocks(sound) if b.ends_at <= middle]
    late = [
        AudioBlock(b.samples, b.rate, b.captured_at + 1.0)
        for b in as_blocks(sound)
        if b.captured_at >= middle
    ]

    utterances = heard([*early, *late])

    assert not utterances[0].whole


def test_a_pause_inside_a_number_is_bridged_when_there_is_patience_for_it():
    one, two = clip("five volts").samples, clip("abort").samples
    sound = in_room(one, two, between=0.35)

    assert 2 == len(heard(as_blocks(in_room(one, two, between=1.0)), Manner(patience=0.9)))
    assert 1 == len(heard(as_blocks(sound), Manner(patience=0.9)))


def test_a_click_is_no_word():
    sound = in_room(np.zeros(RATE, np.float32))
    sound[RATE : RATE + 40] += 0.8

    assert [] == heard(as_blocks(sound))


def test_another_rate_is_refused():
    with pytest.raises(ValueError, match="16000 Hz"):
        Endpointer(detector=lambda: lambda chunk: 0.0).feed(
            AudioBlock(np.zeros(441, np.float32), 44_100)
        )


def test_a_detector_that_always_hears_speech_costs_bounded_memory():
    """A minute of a stuck detector keeps the longest answer and no more."""
    endpointer = Endpointer(detector=lambda: lambda chunk: 1.0)
    block = np.zeros(CHUNK, np.float32)

    for place in range(60 * RATE // CHUNK):
        assert [] == endpointer.feed(AudioBlock(block, RATE, place * CHUNK / RATE))

    kept = sum(len(chunk) for chunk in endpointer._speech.chunks)
    assert kept / RATE < endpointer.manner.longest + 0.5
