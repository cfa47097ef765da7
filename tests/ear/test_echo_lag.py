"""Where an echo comes from, a filter aimed at it, and who spoke behind the gate, on made sound.

Echoes are copies of what sounded, moved by a number of samples that the test chose; a bent
one is other noise that is as loud as callout's voice was.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from test_echo_gate import Loudest, babble, moved, noise, passed

from callout.audio_block import AudioBlock, Samples
from callout.ear.echo import BLOCK, FRONT_AT, PARTS, EchoFilter
from callout.ear.echo_belief import SHARP, SURE, TOO_SOON
from callout.ear.echo_lag import Lag, front
from callout.engine.events import Heard, NotUnderstood
from callout.running.playback import Playback

RATE = 16_000


@pytest.mark.parametrize("late", [0, 7, 1_120, 15_500])
def test_the_front_of_an_echo_is_found_to_the_sample(late: int) -> None:
    known = babble(2.0, 1)
    found = front(known, moved(known, late) * 0.2 + noise(2.0, 2, 0.002))
    assert (late, True) == (found.late, found.sharpness > SHARP)


@pytest.mark.parametrize("seed", range(5))
def test_another_voice_has_no_front(seed: int) -> None:
    """The negative control; and with callout's own under it, 10 dB weaker, it has one."""
    known, other = babble(1.0, 10 + seed), babble(1.0, 20 + seed)
    assert front(known, other).sharpness < SHARP
    assert front(known, other + moved(known, 800) * 0.3).sharpness > SHARP


def test_an_echo_that_moves_is_found_again_by_two_looks() -> None:
    known, lag = babble(8.0, 1), Lag()
    caught = np.concatenate([moved(known, 1000)[: 4 * RATE], moved(known, 1500)[4 * RATE :]])
    found = [
        (lag.late, at / RATE)
        for at in range(0, len(known), BLOCK)
        if lag.take(known[at : at + BLOCK], caught[at : at + BLOCK])
    ]
    assert [1000, 1500] == [late for late, _ in found]
    assert found[0][1] < 0.5
    assert found[1][1] < 5.5, "more of the new than of the old was heard"


def test_aimed_a_filter_takes_out_an_echo_that_is_nearly_a_second_late() -> None:
    late, known = round(0.9 * RATE), babble(6.0, 1)
    caught = moved(known, late) * 0.5 + noise(6.0, 2, 0.0003)
    shifted = moved(known, late - FRONT_AT)
    filter_ = EchoFilter()
    start = (PARTS + 1) * BLOCK
    filter_.aim(shifted[:start], 0.25, keeps=False)
    rests = [
        filter_.split(caught[at : at + BLOCK], shifted[at : at + BLOCK]).rest
        for at in range(start, len(known), BLOCK)
    ]
    late_part = caught[-2 * RATE :], np.concatenate(rests)[-2 * RATE :]
    before, after = (10 * np.log10(np.mean(one.astype(float) ** 2)) for one in late_part)
    assert before - after > 20


def session(calls: int, late: int, slips: dict[int, int] | None = None) -> tuple[Playback, Samples]:
    """So many calls of 2 s, 4 s apart, their echo `late` samples later, or as `slips` says."""
    playback, caught = Playback(), noise(4.0 * calls + 4, 2, 0.0005)
    for number in range(calls):
        call, at = babble(2.0, 30 + number), 1.0 + 4.0 * number
        playback.lay(AudioBlock(call, RATE), at)
        begin = round(at * RATE) + (slips or {}).get(number, late)
        caught[begin : begin + len(call)] += call * 0.5
    return playback, caught


def test_a_filter_is_trusted_from_the_second_call_on_and_again_after_a_slip() -> None:
    """What a pilot says over the second call passes; so does one over the call after a slip."""
    playback, caught = session(5, 1200, {2: 1750, 3: 1750, 4: 1750})
    over = [
        Heard("closed", 0.9, 1, 1.0 + 4 * number + 0.9, 1.0 + 4 * number + 1.5) for number in (1, 3)
    ]
    for event in over:
        begin = round(event.began * RATE)
        caught[begin : begin + round(0.6 * RATE)] += babble(0.6, 50, 0.1)
    assert over == passed(Loudest(over), playback, caught)


def test_words_that_the_ear_is_less_sure_of_do_not_count_over_callout_s_voice() -> None:
    playback, caught = session(2, 1200)
    event = Heard("four zero", SURE - 0.1, 1, 5.9, 6.5)
    caught[round(5.9 * RATE) : round(6.5 * RATE)] += babble(0.6, 50, 0.1)
    assert [] == passed(Loudest([event]), playback, caught)


def bent(calls: int) -> tuple[Playback, Samples]:
    """Calls whose echo is other noise with their loudness: no filter can learn it."""
    playback, caught = session(calls, 0)
    caught = noise(len(caught) / RATE, 3, 0.0005)
    for number in range(calls):
        call, at = babble(2.0, 30 + number), round((1.0 + 4.0 * number) * RATE)
        power = np.convolve(call.astype(float) ** 2, np.full(BLOCK, 1 / BLOCK), "same")
        other = np.random.default_rng(90 + number).normal(0, 1, len(call)) * np.sqrt(power) * 0.5
        caught[at + 1200 : at + 1200 + len(call)] += other.astype(np.float32)
    return playback, caught


def knocks(events: Sequence[Heard | NotUnderstood]) -> list[tuple[str, float]]:
    return [
        (event.why, round(event.began, 1)) for event in events if isinstance(event, NotUnderstood)
    ]


def test_who_speaks_just_after_a_call_while_the_gate_is_shut_is_told_so() -> None:
    """Never silent: he hears that he was not understood, once."""
    playback, caught = bent(6)
    at = 1.0 + 4 * 5 + 2.0 + 1200 / RATE + 0.12
    caught[round(at * RATE) : round((at + 0.3) * RATE)] += babble(0.3, 50, 0.1)
    assert [(TOO_SOON, round(at, 1))] == knocks(passed(Loudest(), playback, caught))


def test_the_rest_of_what_began_behind_the_gate_is_no_answer() -> None:
    """Of "one five", "five" alone would be a wrong value."""
    playback, caught = bent(6)
    at = 1.0 + 4 * 5 + 2.0 + 1200 / RATE + 0.12
    caught[round(at * RATE) : round((at + 0.25) * RATE)] += babble(0.25, 50, 0.1)
    five = Heard("five", 0.9, 1, at + 0.55, at + 0.9)
    caught[round((at + 0.55) * RATE) : round((at + 0.9) * RATE)] += babble(0.35, 51, 0.1)
    events = passed(Loudest([five]), playback, caught)
    assert [TOO_SOON] == [why for why, _ in knocks(events)]
    assert len(events) == 1


def test_nobody_is_told_anything_when_only_the_echo_was_heard() -> None:
    playback, caught = bent(6)
    assert [] == passed(Loudest(), playback, caught)
