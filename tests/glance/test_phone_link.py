"""A phone's stream: times of its frames, short losses that heal, long ones that are told.

The streams are real; the time is told by the test, so that it hangs on no machine's pace.
"""

from __future__ import annotations

import random
import struct
from contextlib import suppress

import numpy as np
import pytest
from glance_served import LONG, Served, served, until, until_closed
from websockets.exceptions import ConnectionClosed, InvalidStatus

from callout.audio_block import AudioBlock
from callout.glance.jitter import FRAME, PACE, Jitter
from callout.glance.phone import ANOTHER, FRAME_SAMPLES, KEPT, REACH, SIGN, SOUND

SECOND = round(1 / FRAME)


class Clock:
    """Stands still but when it is told."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def frame(number: int, level: float = 0.1) -> bytes:
    samples = np.full(FRAME_SAMPLES, round(level * 32768), "<i2")
    return struct.pack("<I", number) + samples.tobytes()


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def page(tmp_path, clock):
    with served(tmp_path, clock=clock) as found:
        yield found


def sound(page: Served, load: str = "a", cookie: str = ""):
    return page.socket(f"/sound?{load}", cookie=cookie or page.cookie())


def speak(page: Served, clock: Clock, stream, first: int, frames: int, pace: float = FRAME,
          level: float = 0.1) -> int:  # fmt: skip
    """At the pace of the sound; the number of the frame after the last. Each was taken."""
    for number in range(first, first + frames):
        clock.now += pace
        stream.send(frame(number, level))
        until(lambda: taken(page) == number)  # noqa: B023 - called at once
    return first + frames


def taken(page: Served) -> int | None:
    """The number of the last frame that the phone's stream brought."""
    return page.phone._jitter[1]._last if page.phone._jitter is not None else None


def blocks(page: Served, count: int) -> list[AudioBlock]:
    found = []
    for block in page.phone.blocks(wait=LONG):
        assert block is not None, f"{len(found)} blocks came of {count}"
        found.append(block)
        if len(found) == count:
            return found
    return found


def test_frames_that_come_unevenly_get_even_times():
    """Up to 120 ms of jitter by chance: times differ by what the quickest frame still was late."""
    chance, jitter, at = random.Random(5), Jitter(), 0.0
    begins = []
    for number in range(500):
        at = max(at, 10 + (number + 1) * FRAME + chance.uniform(0, 0.12))
        placed = jitter.take(number, at)
        assert placed is not None
        begins.append(placed[0] - 10 - number * FRAME)
    settled = begins[PACE:]
    assert max(settled) - min(settled) < 0.03
    assert 0 <= min(settled) < 0.02


def test_a_burst_after_a_stall_keeps_the_times_it_was_caught_at():
    jitter = Jitter()
    for number in range(100):
        jitter.take(number, 5 + (number + 1) * FRAME)
    placed = [jitter.take(number, 5 + 125 * FRAME + number * 1e-4) for number in range(100, 125)]
    assert all(one is not None for one in placed)
    assert [pytest.approx(5 + n * FRAME, abs=0.002) for n in range(100, 125)] == [
        began for began, _ in placed
    ]


def test_a_clock_that_runs_wrong_is_followed():
    """100 parts in a million for an hour: 0.36 s, of which nothing is left."""
    jitter = Jitter()
    for number in range(3600 * SECOND):
        came = (number + 1) * FRAME * 1.0001
        placed = jitter.take(number, came)
        assert placed is not None
    assert placed[1] < 0.01


def test_old_and_repeated_frames_are_left_out():
    jitter = Jitter()
    assert jitter.take(3, 1.0) is not None
    assert [None, None] == [jitter.take(3, 1.0), jitter.take(2, 1.1)]


def test_sound_of_a_paused_microphone_is_of_the_moment_it_goes_on():
    jitter = Jitter()
    for number in range(50):
        jitter.take(number, (number + 1) * FRAME)
    for number in range(50, 50 + PACE):
        placed = jitter.take(number, 60 + (number + 1) * FRAME)
    assert placed is not None
    assert pytest.approx(0, abs=0.01) == placed[1]


def test_a_phones_sound_comes_as_blocks_of_session_time(page, clock):
    with sound(page) as stream:
        began = page.now()
        speak(page, clock, stream, 0, 20)
        found = blocks(page, 20)
    assert {16_000} == {block.rate for block in found}
    assert [pytest.approx(0.1, abs=0.001)] * 20 == [float(block.samples.mean()) for block in found]
    steps = np.diff([block.captured_at for block in found])
    assert [pytest.approx(FRAME)] * 19 == list(steps)
    assert pytest.approx(began) == found[0].captured_at


def test_a_loss_of_less_than_half_a_second_heals_without_a_word(page, clock):
    with sound(page) as stream:
        number = speak(page, clock, stream, 0, 20)
        clock.now += 0.4  # the radio; meanwhile the phone keeps its frames
        number = speak(page, clock, stream, number, 20, pace=0.0)
        speak(page, clock, stream, number, 10)
        found = blocks(page, 50)
    steps = np.diff([block.captured_at for block in found])
    assert [pytest.approx(FRAME, abs=0.001)] * 49 == list(steps)
    assert [] == page.lost


def test_a_stream_that_breaks_and_comes_back_at_once_heals_without_a_word(page, clock):
    cookie = page.cookie()
    with sound(page, cookie=cookie) as stream:
        number = speak(page, clock, stream, 0, 20)
    clock.now += 0.3
    with sound(page, cookie=cookie) as stream:
        number = speak(page, clock, stream, number, 15, pace=0.0)
        speak(page, clock, stream, number, 10)
        assert 45 == len(blocks(page, 45))
    assert [] == page.lost


def test_a_longer_loss_is_told_once_and_old_sound_is_dropped(page, clock):
    with sound(page) as stream:
        number = speak(page, clock, stream, 0, 20)
        blocks(page, 20)
        clock.now += REACH + 0.1
        until(lambda: page.lost)
        assert not page.phone.there
        clock.now += 0.9
        # More than half a second ago:
        number = speak(page, clock, stream, number, 40, pace=0.0, level=0.5)
        speak(page, clock, stream, number, PACE + 10)
        until(lambda: "back" in page.lost)
        found = blocks(page, 5)
    assert 2 == len(page.lost)
    assert "half a second" in page.lost[0]
    assert {0.1} == {round(float(block.samples.mean()), 3) for block in found}


def test_a_reload_counts_anew(page, clock):
    cookie = page.cookie()
    with sound(page, "a", cookie) as stream:
        speak(page, clock, stream, 0, 20)
    with sound(page, "b", cookie) as stream:
        speak(page, clock, stream, 0, 10)
        assert 30 == len(blocks(page, 30))


def test_a_second_phone_is_refused_while_the_first_is_heard(page, clock):
    with sound(page) as first:
        speak(page, clock, first, 0, 5)
        with sound(page) as second, pytest.raises(ConnectionClosed) as closed:
            second.recv(timeout=LONG)
        assert ANOTHER == closed.value.rcvd.code
        speak(page, clock, first, 5, 5)
        assert 10 == len(blocks(page, 10))


def test_a_clip_goes_to_the_phone_whole_and_ahead(page, clock):
    clip = np.linspace(-0.5, 0.5, 16_000).astype(np.float32)
    with sound(page) as stream:
        speak(page, clock, stream, 0, 5)
        assert page.phone.there
        page.phone.play(clip)
        heard = b""
        while len(heard) < 2 * len(clip):
            packet = stream.recv(timeout=LONG)
            heard += packet[4:] if packet[0] == SOUND else b""
    samples = np.frombuffer(heard, "<i2") / 32767
    assert np.allclose(clip, samples, atol=1e-4)


def test_the_phone_gets_signs_of_life_and_what_to_say_without_them(page):
    page.phone.keep(np.full(100, 0.25, np.float32))
    with sound(page) as stream:
        packets = [stream.recv(timeout=LONG) for _ in range(4)]
    assert [KEPT, SIGN, SIGN, SIGN] == [packet[0] for packet in packets]
    assert np.allclose(0.25, np.frombuffer(packets[0][4:], "<i2") / 32767, atol=1e-4)


@pytest.mark.parametrize("junk", [b"", b"x", frame(0)[:-1], frame(0) + b"x", "text"])
def test_what_is_no_frame_ends_the_stream_and_nothing_is_heard(page, junk):
    with sound(page) as stream:
        stream.send(junk)
        with pytest.raises(ConnectionClosed):
            until_closed(stream)
    assert not page.phone.there


def test_sound_faster_than_any_microphone_ends_the_stream(page):
    with sound(page) as stream:
        with suppress(ConnectionClosed):
            for number in range(3000):
                stream.send(frame(number))
        with pytest.raises(ConnectionClosed):
            until_closed(stream)


def test_without_a_phone_asked_for_no_stream_of_sound_is_opened(page):
    with pytest.raises(InvalidStatus):
        page.socket("/sound", cookie="")
    assert REACH == 0.5
