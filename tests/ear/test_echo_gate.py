"""The gate of the guard, and how late an echo is found to be, on made sound.

The echoes are copies of what sounded, moved by a known number of samples; the
places where sound is told late or lost are put there by the test.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from callout.audio_block import AudioBlock, Samples
from callout.ear.echo import BLOCK
from callout.ear.echo_gate import OPENS
from callout.ear.echo_guard import OwnVoiceGuard
from callout.ear.echo_way import Way
from callout.engine.events import Heard, NotUnderstood
from callout.running.playback import Playback
from callout.words.phrases import Grammar

RATE = 16_000


def noise(seconds: float, seed: int, level: float) -> Samples:
    return np.random.default_rng(seed).normal(0, level, round(seconds * RATE)).astype(np.float32)


def babble(seconds: float, seed: int, level: float = 0.1) -> Samples:
    """Noise whose loudness goes up and down as syllables do, four times a second."""
    points = np.abs(np.random.default_rng(seed).normal(0, 1, round(seconds * 8) + 2))
    places = np.arange(round(seconds * RATE)) / RATE * 8
    return (noise(seconds, seed, level) * np.interp(places, range(len(points)), points)).astype(
        np.float32
    )


def moved(sound: Samples, late: int) -> Samples:
    return np.concatenate([np.zeros(late, np.float32), sound])[: len(sound)]


class Loudest:
    """An ear that keeps what it is given and tells an event at a time."""

    name, rate = "loudest", RATE

    def __init__(self, events: Sequence[Heard | NotUnderstood] = ()) -> None:
        self.sound: list[Samples] = []
        self.events = list(events)

    def listen_for(self, grammar: Grammar) -> None:
        """It does not matter."""

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        assert isinstance(sound, AudioBlock)
        self.sound.append(sound.samples)
        due = [event for event in self.events if event.ended <= sound.ends_at]
        self.events = [event for event in self.events if event.ended > sound.ends_at]
        return due

    def close(self) -> None:
        """Nothing is held."""

    def peak(self, began: float, ended: float) -> float:
        """Of what it was given between two times (s)."""
        sound = np.concatenate(self.sound)
        return float(np.abs(sound[round(began * RATE) : round(ended * RATE)]).max())


def passed(
    ear: Loudest, playback: Playback, caught: Samples, at: float = 0.0
) -> list[Heard | NotUnderstood]:
    guard = OwnVoiceGuard(ear, playback)
    return [
        event
        for begin in range(0, len(caught), BLOCK)
        for event in guard.hear(AudioBlock(caught[begin : begin + BLOCK], RATE, at + begin / RATE))
    ]


def test_the_first_call_is_silence_for_the_ear_and_so_is_its_echo() -> None:
    """Nothing is known of the room yet: an echo may be a second late."""
    ear, playback, call = Loudest(), Playback(), babble(1.0, 1)
    playback.lay(AudioBlock(call, RATE), 2.0)
    caught = noise(6, 2, 0.0005)
    caught[3 * RATE : 4 * RATE] += call * 0.5
    passed(ear, playback, caught)
    assert np.abs(caught).max() > 0.1
    assert ear.peak(0.0, 6.0) < 0.01


def test_an_answer_whose_beginning_the_gate_may_have_taken_is_refused() -> None:
    """ "One five" that is heard as "five" would be a wrong value; a later one is believed."""
    playback = Playback()
    playback.lay(AudioBlock(babble(1.0, 1), RATE), 2.0)
    opened = 4.2
    cut = Heard("five", 1.0, 1, opened + 0.02, opened + 0.5)
    whole = Heard("five", 1.0, 1, opened + OPENS + 0.1, opened + 0.9)
    assert [whole] == passed(Loudest([cut, whole]), playback, noise(6, 2, 0.0005))


def test_what_is_not_understood_soon_after_a_call_is_not_spoken_of_until_the_room_is_known() -> (
    None
):
    """It may be an echo that is later than anybody knows."""
    playback = Playback()
    playback.lay(AudioBlock(babble(1.0, 1), RATE), 2.0)
    soon, later = (NotUnderstood("not sure", "", 0, 1, at, at + 0.4) for at in (6.0, 11.0))
    assert [later] == passed(Loudest([soon, later]), playback, noise(12, 2, 0.0005))


def test_its_own_words_soon_after_a_call_are_no_answer_until_the_room_is_known() -> None:
    playback = Playback()
    playback.lay(AudioBlock(babble(1.0, 1), RATE), 2.0)
    playback.saying("Fuel lever, closed?", 2.0, 3.0)
    own, other = Heard("closed", 1.0, 1, 6.0, 6.4), Heard("isolated", 1.0, 1, 7.0, 7.4)
    assert [other] == passed(Loudest([own, other]), playback, noise(12, 2, 0.0005))


def test_sound_that_is_told_only_after_it_was_caught_shuts_the_gate() -> None:
    """The loudspeaker's thread tells of each 5 ms 40 ms after the microphone had them."""
    now = [0.0]
    ear, playback = Loudest(), Playback(lambda: now[0])
    guard = OwnVoiceGuard(ear, playback)
    call, caught = moved(babble(4.0, 1), RATE), noise(4, 2, 0.0005)
    caught[RATE:] += call[RATE:] * 0.5
    for begin in range(0, len(caught), 80):
        told = begin - 640
        if told >= 0:
            now[0] = told / RATE
            playback.heard(call[told : told + 80], RATE)
        guard.hear(AudioBlock(caught[begin : begin + 80], RATE, begin / RATE))
    assert ear.peak(1.1, 3.5) < 0.01


def test_after_a_jump_of_the_clocks_in_a_call_the_gate_is_shut_at_once() -> None:
    ear, playback, call = Loudest(), Playback(), babble(2.0, 1)
    playback.lay(AudioBlock(call, RATE), 1.0)
    guard = OwnVoiceGuard(ear, playback)
    for begin in range(0, 2 * RATE, BLOCK):
        guard.hear(AudioBlock(noise(0.02, begin, 0.0005), RATE, begin / RATE))
    ear.sound.clear()
    for begin in range(0, RATE, BLOCK):  # silence of the device, told to be 0.3 s later: an echo
        guard.hear(AudioBlock(call[begin : begin + BLOCK] * 0.5, RATE, 3.05 + begin / RATE))
    assert max(np.abs(one).max() for one in ear.sound) < 0.01


@pytest.mark.parametrize("late", [0, 5, 20, 60, 100])
def test_how_late_an_echo_is_is_found(late: int) -> None:
    known = babble(8.0, 3)
    caught = moved(known, late * BLOCK) * 0.3 + noise(8.0, 4, 0.001)
    way = Way()
    for at in range(0, len(known), BLOCK):
        way.take(known[at : at + BLOCK], caught[at : at + BLOCK].astype(np.float32))
    assert way.sure
    assert way.late is not None
    assert abs(way.late - late) <= 1


def test_with_nothing_but_steady_noise_there_is_no_echo_to_fear() -> None:
    known, caught, way = babble(8.0, 3), noise(8.0, 4, 0.01), Way()
    for at in range(0, len(known), BLOCK):
        way.take(known[at : at + BLOCK], caught[at : at + BLOCK])
    assert (True, None) == (way.sure, way.late)


def test_with_other_voices_and_no_echo_found_nothing_is_sure() -> None:
    known, caught, way = babble(8.0, 3), babble(8.0, 5), Way()
    for at in range(0, len(known), BLOCK):
        way.take(known[at : at + BLOCK], caught[at : at + BLOCK])
    assert (False, None) == (way.sure, way.late)
