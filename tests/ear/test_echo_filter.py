"""The echo filter and what tells somebody near from an echo's rest, on made sound.

The echo is made by scipy.signal.lfilter, which knows nothing of the filter.
"""

from __future__ import annotations

import numpy as np
import pytest
import scipy.signal

from callout.ear.echo import BLOCK, PARTS, EchoFilter
from callout.ear.echo_near import Nearness

RATE = 16_000


def noise(seconds: float, seed: int, level: float = 0.1) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, level, round(seconds * RATE)).astype(np.float32)


def babble(seconds: float, seed: int, level: float = 0.1) -> np.ndarray:
    """Noise whose loudness goes up and down as syllables do, four times a second."""
    random = np.random.default_rng(seed)
    points = np.abs(random.normal(0, 1, round(seconds * 8) + 2))
    loudness = np.interp(np.arange(round(seconds * RATE)) / RATE * 8, range(len(points)), points)
    sound = scipy.signal.lfilter([1], [1, -0.9], random.normal(0, 1, len(loudness))) * loudness
    return (sound * level / sound.std()).astype(np.float32)


def room(delay: float, seed: int = 1, gain: float = 0.5) -> np.ndarray:
    """A room's answer: the way, direct sound, a tail of 60 dB in 0.3 s."""
    times = np.arange(round(0.15 * RATE)) / RATE
    tail = np.random.default_rng(seed).normal(0, 0.05, len(times)) * 10 ** (-3 * times / 0.3)
    tail[0] = 1.0
    return gain * np.concatenate([np.zeros(round(delay * RATE)), tail])


def echo_of(known: np.ndarray, delay: float, **how: float) -> np.ndarray:
    return scipy.signal.lfilter(room(delay, **how), [1.0], known).astype(np.float32)


def rest_of(caught: np.ndarray, known: np.ndarray, filter_: EchoFilter | None = None) -> np.ndarray:
    """What the filter leaves of `caught`, whole blocks."""
    filter_ = filter_ or EchoFilter()
    blocks = range(0, len(caught) - BLOCK + 1, BLOCK)
    return np.concatenate(
        [filter_.split(caught[at : at + BLOCK], known[at : at + BLOCK]).rest for at in blocks]
    )


def level(sound: np.ndarray) -> float:
    return float(10 * np.log10(np.mean(sound.astype(np.float64) ** 2) + 1e-15))


@pytest.mark.parametrize("delay", [0.0, 0.02, 0.2, 0.3])
def test_an_echo_goes_away_wherever_it_comes_from(delay: float) -> None:
    """Without being aimed."""
    known = babble(12, 1)
    caught = echo_of(known, delay) + noise(12, 2, 0.0003)
    rest = rest_of(caught, known)
    late = slice(8 * RATE, None)
    assert level(caught[late]) - level(rest[late]) > 20


def test_an_echo_from_beyond_what_is_known_stays() -> None:
    """The negative control: a way longer than the filter cannot be learned."""
    known = babble(8, 1)
    caught = echo_of(known, PARTS * BLOCK / RATE + 0.05)
    rest = rest_of(caught, known)
    assert level(caught[-RATE:]) - level(rest[-RATE:]) < 3


def test_what_is_no_echo_goes_through_unchanged() -> None:
    """With nothing known to sound, and, nearly, with an echo that has been learned."""
    near = babble(4, 3)
    assert np.array_equal(near, rest_of(near, np.zeros_like(near)))
    known = babble(12, 1)
    filter_ = EchoFilter()
    caught = echo_of(known, 0.05) + noise(12, 2, 0.0003)
    rest_of(caught[: 8 * RATE], known[: 8 * RATE], filter_)
    rest = rest_of(caught[8 * RATE :] + near, known[8 * RATE :], filter_)
    assert np.corrcoef(rest, near)[0, 1] > 0.99


def test_talk_over_an_echo_does_not_undo_what_was_learned() -> None:
    known, near = babble(16, 1), np.zeros(16 * RATE, np.float32)
    near[8 * RATE : 12 * RATE] = babble(4, 3, 0.2)
    caught = echo_of(known, 0.1) + noise(16, 2, 0.0003) + near
    rest = rest_of(caught, known)
    after = slice(round(12.5 * RATE), 14 * RATE)
    assert level(caught[after]) - level(rest[after]) > 18


def test_the_same_blocks_give_the_same_result() -> None:
    known = babble(3, 1)
    caught = echo_of(known, 0.1)
    assert np.array_equal(rest_of(caught, known), rest_of(caught, known))


def looked_at(known: np.ndarray, caught: np.ndarray) -> Nearness:
    """After a second of quiet."""
    filter_, near = EchoFilter(), Nearness()
    for at in range(0, RATE, BLOCK):
        near.quiet(noise(1, 9, 0.0003)[at : at + BLOCK])
    for number, at in enumerate(range(0, len(caught) - BLOCK + 1, BLOCK)):
        split = filter_.split(caught[at : at + BLOCK], known[at : at + BLOCK])
        near.take(number, split, loud=bool(np.abs(known[at : at + BLOCK]).max() > 0.03))
    return near


def test_an_echo_alone_is_nobody() -> None:
    """All along: also in the first second, when nothing is known of the room."""
    known = babble(8, 1)
    near = looked_at(known, echo_of(known, 0.05) + noise(8, 2, 0.0003))
    for first in range(0, 8 * 50 - 25, 25):
        evidence = near.evidence(first, first + 25)
        assert evidence.share < 0.5 or evidence.likeness > 0.6, (first, evidence)


def test_somebody_over_an_echo_is_near_and_unlike_it() -> None:
    known, speech = babble(8, 1), np.zeros(8 * RATE, np.float32)
    speech[5 * RATE : 6 * RATE] = babble(1, 6, 0.05)
    near = looked_at(known, echo_of(known, 0.05) + noise(8, 2, 0.0003) + speech)
    evidence = near.evidence(250, 299)
    assert evidence.share > 0.75
    assert evidence.likeness < 0.4
    assert near.evidence(340, 390).share < 0.2


def test_after_the_room_has_changed_nobody_is_near_for_long() -> None:
    """Another way for the sound: at first all of it is left; soon the filter is not trusted."""
    known = babble(12, 1)
    caught = echo_of(known, 0.05)
    caught[6 * RATE :] = echo_of(known, 0.15, seed=7)[6 * RATE :]
    near = looked_at(known, caught + noise(12, 2, 0.0003))
    unlike = [near.evidence(at, at + 25) for at in range(300, 575, 25)]
    assert all(one.share < 0.5 or one.likeness > 0.6 for one in unlike[4:]), unlike
