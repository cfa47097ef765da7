"""The times of the watch over a start, as words tell them, which take their time."""

from __future__ import annotations

import pytest
from engine_start import SPEED, Starting, starting

from callout.engine.events import FeedFault, Heard


def test_what_a_pilot_calls_was_so_when_he_began_to_speak():
    one = starting().say("engaged", "one eight", "opened")
    serial = one.session.state.grammar.serial
    one.wait(3.0)
    one.handle(Heard("light off", 1.0, serial, one.now - 1.4, one.now, "test"))

    (phase,) = [d for d in one.data("start phase") if d["phase"] == "light-off"]
    opened = next(d for d in one.data("start phase") if d["phase"] == "fuel")
    assert pytest.approx(3.0 - 1.4 + 0.5, abs=0.01) == float(phase["took"])
    assert pytest.approx(float(opened["at"]) + float(phase["took"])) == float(phase["at"])


def test_a_lamp_that_went_dark_while_the_pilot_spoke_counts_from_the_beginning_of_his_words():
    one = starting().lit().feed(14.0, speed=48.0, heat=600.0)
    one.light = 0.0
    one.feed(0.5)
    one.handle(FeedFault(SPEED, "jumps", "seen"))
    began = one.now
    for _ in range(20):
        one.wait(0.1)
        one.read("starter-light", 0.0)
    serial = one.session.state.grammar.serial
    one.handle(Heard("speed five one", 1.0, serial, began, one.now, "test"))
    one.wait(0.1)
    one.read("starter-light", 0.0)

    ends = {d["phase"]: one.zero + one.began + float(d["at"]) for d in one.data("start phase")}
    assert pytest.approx(began, abs=0.02) == ends["half-speed"]
    assert pytest.approx(began, abs=0.02) == ends["starter-off"] == ends["starter-dark"]


def _burns_on(seconds: float) -> Starting:
    """Let go as "released" begins, 0.7 s long; the lamp of the starter burns for so long."""
    one = starting().lit().feed(15.0, speed=51.0, heat=600.0)
    began = one.now
    one.feed(0.7)
    serial = one.session.state.grammar.serial
    one.handle(Heard("released", 1.0, serial, began, one.now, "test"))
    one.feed(seconds - 0.7)
    one.light = 0.0
    return one.feed(0.5)


def test_a_starter_that_burns_on_does_so_from_the_beginning_of_the_words_that_let_it_go():
    # The file: for 3 s after it was let go.
    assert [] == _burns_on(2.8).faults
    assert ["starter-stays-engaged"] == _burns_on(3.2).faults


# --------------------------------------------- a time that is up while the pilot is speaking


def _blind_at_idle() -> Starting:
    """In the phase that leads to idle, with a speed that has long been silent."""
    one = starting().halfway()
    one.handle(FeedFault(SPEED, "silent", ""))
    return one


def _words_at(one: Starting, text: str, begin: float, takes: float) -> Starting:
    """Words that begin so long after the phase did, and take so long."""
    watch = one.session.state.watch
    assert watch is not None
    at = watch.since + begin
    one.wait(at + takes - one.now)
    serial = one.session.state.grammar.serial
    one.handle(Heard(text, 1.0, serial, at, one.now, "test"))
    return one


def test_a_value_whose_call_began_in_time_is_heard_out():
    one = _words_at(_blind_at_idle(), "gas generator speed six four", 39.8, 1.75)

    assert [] == one.faults
    assert "idle" == one.data("start phase")[-1]["phase"]


def test_one_whose_call_began_too_late_ends_nothing():
    one = _words_at(_blind_at_idle(), "speed six four", 40.3, 1.0)

    assert ["hung-start"] == one.faults


def test_where_a_gauge_is_seen_its_time_is_up_at_once():
    one = starting().halfway().feed(8.0, speed=57.0, heat=450.0)
    watch = one.session.state.watch
    assert watch is not None
    creeping = 57.0
    while one.now < watch.since + 40.1:
        creeping += 0.03
        one.feed(0.1, speed=creeping % 60.0)

    assert ["hung-start"] == one.faults


def test_an_answer_that_began_in_time_is_heard_out_and_nothing_else_delays_the_call():
    """Idle is reached at the same moment in both; the file gives the igniter a minute."""
    idle = starting().halfway().feed(5.0, speed=63.0, heat=450.0).feed(4.0)
    watch = idle.session.state.watch
    assert watch is not None
    due = watch.since + 60.0
    idle.feed(due + 0.3 - idle.now)
    assert [] == idle.faults
    idle.feed(0.3)

    assert ["ignition-stays-on"] == idle.faults
