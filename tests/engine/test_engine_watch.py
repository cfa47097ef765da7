"""The watch over a start, on the example aircraft: phases, faults, and what breaks in when.

What a start is and how it fails is taken from FAA texts (hot: too much fuel or too
little speed; hung: light-off, then speed that stays below idle; no light-off; the
starter drives past the speed at which the engine accelerates by itself), as quoted;
the numbers are those of the invented example. What is told aloud: test_engine_watch_told.py.
"""

from __future__ import annotations

import pytest
from engine_rig import in_hand
from engine_start import EXAMPLE, HEAT, SPEED, Starting, effects_of, hot, starting, urgent


def test_a_good_start_is_logged_phase_by_phase_with_its_times():
    one = starting().halfway().feed(5.0, speed=63.0, heat=450.0).feed(3.2)
    one.tell("three point two").feed(4.0).say("five nine zero", "safe")

    assert [] == one.faults
    # Where the straight lines of the feed cross the numbers in the file.
    by_hand = {
        "fuel-speed": 4.9,
        "fuel": 6.2,
        "light-off": 7.0,
        "half-speed": 22.7,
        "starter-off": 23.3,
        "starter-dark": 23.3,
        "idle": 31.0,
    }
    phases = {d["phase"]: float(d["at"]) for d in one.data("start phase")}
    assert [*by_hand, "ignition-off"] == list(phases)
    assert pytest.approx(by_hand, abs=0.25) == {name: phases[name] for name in by_hand}
    (whole,) = one.data("start watched")
    assert ("complete", "600.0", "63.0") == (
        whole["outcome"],
        whole[f"highest {HEAT}"],
        whole[f"highest {SPEED}"],
    )


def slowly_hot(one: Starting) -> Starting:
    return one.lit().feed(12.0, speed=35.0, heat=739.0).feed(6.5, speed=45.0, heat=755.0)


def hung(one: Starting) -> Starting:
    return one.lit().feed(20.0, speed=35.0, heat=650.0).feed(10.0, speed=35.5)


def never_half(one: Starting) -> Starting:
    return one.lit().feed(34.5, speed=49.0, heat=650.0)


def no_light(one: Starting) -> Starting:
    one.light = 1.0
    one.feed(6.0, speed=20.0).tell("engaged").feed(0.2).tell("opened")
    return one.feed(10.0, speed=22.0)


def slow(one: Starting) -> Starting:
    one.light = 1.0
    return one.feed(4.0, speed=12.0).feed(12.0, speed=16.0)


def flame_out(one: Starting) -> Starting:
    return one.lit().feed(5.0, speed=35.0, heat=600.0).feed(2.0, speed=33.0, heat=60.0)


def starter_stuck(one: Starting) -> Starting:
    one.lit().feed(15.0, speed=51.0, heat=600.0).tell("released")
    return one.feed(4.0, speed=57.0)


def starter_forgotten(one: Starting) -> Starting:
    return one.lit().feed(15.0, speed=51.0, heat=600.0).feed(9.0, speed=64.0)


def starter_too_long(one: Starting) -> Starting:
    one.light = 1.0
    one.feed(6.0, speed=20.0).tell("engaged").feed(0.2)
    return one.feed(39.0, speed=22.0)


def starter_let_go_and_held_again(one: Starting) -> Starting:
    one.light = 1.0
    one.feed(6.0, speed=20.0).tell("engaged").feed(6.0)
    one.light = 0.0
    one.feed(2.0)
    one.light = 1.0
    return one.feed(46.0, speed=22.0)


def lamp_that_never_lit(one: Starting) -> Starting:
    return one.tell("engaged").feed(6.0, speed=20.0).feed(40.0, speed=22.0)


def spark_forgotten(one: Starting) -> Starting:
    return one.halfway().feed(5.0, speed=63.0, heat=450.0).feed(64.0)


GOES_WRONG = {
    "hot-start": [hot, slowly_hot],
    "hung-start": [hung, never_half],
    "no-light-off": [no_light],
    "slow-rotation": [slow],
    "flame-out": [flame_out],
    "starter-stays-engaged": [starter_stuck],
    "starter-held": [
        starter_forgotten,
        starter_too_long,
        starter_let_go_and_held_again,
        lamp_that_never_lit,
    ],
    "ignition-stays-on": [spark_forgotten],
}
WAYS = [(fault, way) for fault, ways in GOES_WRONG.items() for way in ways]


def test_a_starter_let_go_early_is_not_held_too_long():
    one = starting()
    one.light = 1.0
    one.feed(6.0, speed=20.0).tell("engaged").feed(6.0)
    one.light = 0.0
    one.feed(42.0, speed=22.0)

    assert "starter-held" not in one.faults


@pytest.mark.parametrize(("fault", "way"), WAYS, ids=lambda v: getattr(v, "__name__", v))
def test_what_goes_wrong_opens_its_own_list_and_says_its_first_item_in_that_step(fault, way):
    one = way(starting())

    assert [fault] == one.faults
    assert fault == one.list_id
    assert "start" in one.about("list aborted")
    at = next(i for i, fact in enumerate(one.facts) if fact.fact == "start fault")
    assert fault == dict(one.facts[at].data)["fault"]
    effects = effects_of(one, "start fault")
    first = next(EXAMPLE.list(fault).items()).call
    call = EXAMPLE.start_watch.fault(fault).call.capitalize()
    assert [f"Abort, {first}. {call}."] == urgent(effects)


def test_the_starter_is_on_by_the_tick_or_by_the_feed_whichever_comes_first():
    told, shown = starting().say("engaged"), starting()
    shown.light = 1.0
    shown.feed(0.1)

    assert 1 == len(told.data("start began"))
    assert 1 == len(shown.data("start began"))
    assert "starter" == in_hand(shown)
    shown.feed(1.0).tell("engaged")
    assert 1 == len(shown.data("start began"))


def test_a_gauge_that_moves_before_the_starter_is_on_begins_nothing():
    assert [] == starting().feed(20.0, speed=5.0, heat=30.0).data("start began")


# ------------------------------------------------- what the lists of the aborts ask, in their order


COOLED = ["hot-start", "hung-start"]
"""Faults whose lists keep the starter turning until the exhaust has cooled (a helicopter's
handbook, read: an abort is fuel off but motored on; the numbers are the example's)."""


@pytest.mark.parametrize("fault", COOLED)
def test_the_abort_keeps_motoring_and_lets_the_starter_go_only_when_it_is_cool(fault):
    one = GOES_WRONG[fault][0](starting())
    one.light = 1.0
    one.tell("closed").feed(0.5)
    one.tell("released").feed(0.5)  # to the question whether it turns still
    assert "keep-motoring" == in_hand(one)
    one.tell("still turning").feed(20.0, speed=18.0, heat=260.0)
    assert [f"{fault}/fuel-lever", f"{fault}/keep-motoring"] == one.about("ticked")[-2:]
    one.feed(2.0, heat=245.0).feed(3.5, heat=240.0)

    assert "starter-released" == in_hand(one)
    one.tell("released")
    assert f"{fault}/starter-released" == one.about("ticked")[-1]


def test_what_did_not_light_is_dried_for_the_files_time_before_the_starter_is_let_go():
    one = no_light(starting())
    one.tell("closed").feed(0.2).tell("safe").feed(19.0)
    one.tell("released")
    assert "keep-motoring" == in_hand(one)
    one.feed(1.5)

    assert "starter-released" == in_hand(one)


@pytest.mark.parametrize(
    ("fault", "second"),
    [("slow-rotation", "starter-released"), ("starter-held", "starter-released"),
     ("starter-stays-engaged", "battery-master")],
)  # fmt: skip
def test_where_motoring_would_do_harm_the_starter_is_stopped_at_once(fault: str, second: str):
    one = GOES_WRONG[fault][0](starting()).tell("closed")

    assert second == in_hand(one)
