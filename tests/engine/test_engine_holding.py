"""Hold, stand by, resume, crash: what was said stands, what nobody saw does not."""

from __future__ import annotations

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, in_hand, item, mode, talk, ticked
from engine_talk import Talk

from callout.checklist.model import (
    Advise,
    Await,
    Condition,
    ListKind,
    Need,
    ResumePolicy,
    Settings,
    Wait,
)
from callout.engine.events import Resumed
from callout.engine.rules import State
from callout.words.understand import understand

THREE = (ask("door"), ask("lamp"), ask("seat"))
WARM = checklist("first", ask("door"), item("warm", Wait(30.0)), ask("seat"))


def came_back(one: Talk, gap: float) -> Talk:
    one.now += gap
    one.handle(Resumed(gap))
    return one


def test_stand_by_in_a_held_list_takes_no_answer():
    """While held only resume, abort and questions count; the policy of resume holds."""
    one = talk(checklist("first", *THREE), settings=Settings(resume=ResumePolicy.RESTART_LIST)).say(
        "ready", "hold", "stand by"
    )
    assert State.STANDING_BY is mode(one)
    assert understand(one.session.state.grammar, "ready") is None
    one.say("ready")
    assert ["first/door"] == ticked(one)
    one.say("resume")
    assert "door" == in_hand(one)


def test_stand_by_twice_still_takes_the_answer():
    assert ["first/door"] == ticked(talk(WARM).say("stand by", "stand by", "ready"))


def test_help_in_a_held_list_offers_no_answer():
    held = talk(checklist("first", *THREE)).say("hold", "stand by", "help")
    asked = talk(checklist("first", *THREE)).say("stand by", "help")

    assert "ready" not in held.said[0]
    assert asked.said[0].startswith("You can say: ready")


def test_disregard_takes_back_a_hold():
    one = talk(checklist("first", *THREE)).say("ready", "hold", "disregard")

    assert State.ASKING is mode(one)
    assert ["Lamp?"] == one.said


@pytest.mark.parametrize("word", ["disregard", "resume"])
def test_what_went_out_of_date_in_a_hold_is_asked_again_however_it_ends(word: str):
    one = talk(checklist("first", ask("door", stale_after=60.0), ask("lamp")))
    one.say("ready", "hold").wait(90.0).say(word)

    assert "Door is out of date." in one.said
    assert "door" == in_hand(one)


def test_no_list_is_complete_with_a_tick_that_is_out_of_date():
    """A tick counts for its time only; standing by does not stretch it."""
    one = talk(checklist("first", ask("door", stale_after=60.0), ask("lamp")))
    one.say("ready", "stand by").wait(90.0).say("ready")
    assert [] == one.about("list complete")
    assert ["Door is out of date.", "Door?"] == one.said
    one.say("ready")
    assert ["first"] == one.about("list complete")


def test_a_tick_is_in_date_until_its_very_last_moment():
    one = talk(checklist("first", ask("door", stale_after=60.0), ask("lamp"))).say("ready")
    one.wait(57.0).say("ready")

    assert ["first"] == one.about("list complete")


@pytest.mark.parametrize(
    "words",
    [
        ("stand by", "disregard"),
        ("override", "negative"),
        ("hold", "disregard"),
        ("hold", "resume"),
    ],
)
def test_a_wait_that_ran_out_meanwhile_ends_however_it_is_come_back_to(words: tuple[str, ...]):
    first, last = words
    one = talk(WARM).say("ready", first).wait(40.0)
    assert ["first/warm"] == one.about("time over")
    assert ["first/door"] == ticked(one)
    one.say(last).wait(0.0)

    assert ["first/door", "first/warm"] == ticked(one)
    assert "seat" == in_hand(one)


def test_a_wait_taken_back_to_in_time_says_what_remains():
    one = talk(WARM).say("ready", "hold").wait(10.0).say("disregard")

    assert ["One four seconds remaining."] == one.said


@pytest.mark.parametrize("policy", [ResumePolicy.RESTART_LIST, ResumePolicy.RESTART_SECTION])
def test_a_restart_starts_its_wait_again_too(policy: ResumePolicy):
    one = talk(WARM, settings=Settings(resume=policy)).say("ready", "hold").wait(40.0)
    one.say("resume")
    assert "door" == in_hand(one)
    assert ["first/door"] == ticked(one)
    one.say("ready").wait(29.0)
    assert "warm" == in_hand(one)


def test_a_restart_whose_first_item_is_the_wait_in_hand_times_it_anew():
    lists = checklist("first", item("warm", Wait(30.0)), ask("seat"))
    one = talk(lists, settings=Settings(resume=ResumePolicy.RESTART_LIST)).say("hold").wait(40.0)
    one.say("resume").wait(29.0)
    assert [] == ticked(one)
    one.wait(1.1)
    assert ["first/warm"] == ticked(one)


def starting(within: float = 15.0, missed: str = "stop") -> Talk:
    speed = item("speed", Await(Condition("speed", band("20")), within, missed))
    stop = checklist("stop", ask("lever"), kind=ListKind.ABORT)
    return talk(checklist("first", ask("door"), speed, ask("seat")), stop).say("ready")


def test_a_time_limit_that_passed_while_the_program_was_away_is_not_called_missed():
    """Nobody looked: it may have been reached. It is asked again with its whole time."""
    one = came_back(starting(), 60.0)
    assert [
        "Interrupted for one minute. First. Item Speed. Its time limit was not watched. Say resume."
    ] == one.said
    one.wait(60.0)
    assert [] == one.about("time missed")
    one.say("resume").wait(14.9)
    assert [] == one.about("time missed")
    one.wait(0.2)
    assert ["first/speed"] == one.about("time missed")


def test_a_time_limit_that_runs_on_after_the_gap_is_watched():
    one = came_back(starting(), 10.0)
    assert ["Interrupted for one zero seconds. First. Item Speed. Say resume."] == one.said
    one.wait(5.1)

    assert ["first/speed"] == one.about("time missed")
    assert "stop" == one.session.state.run.list_id


def test_a_wait_whose_time_passed_while_the_program_was_away_is_ticked_on_resume():
    one = came_back(talk(WARM).say("ready"), 60.0).wait(5.0)
    assert ["first/door"] == ticked(one)
    assert "Warm, time complete." in one.said
    one.say("resume")
    assert ["first/door", "first/warm"] == ticked(one)


@pytest.mark.parametrize("word", ["hold", "stand by"])
def test_a_limit_missed_without_a_procedure_is_called_and_the_hold_stays(word: str):
    one = starting(missed="").say(word).wait(20.0)

    assert ["first/speed"] == one.about("time missed")
    assert mode(one) in (State.HOLDING, State.STANDING_BY)
    assert ["Gas generator speed not reached in one five seconds."] == one.said


def test_a_long_gap_starts_the_list_again_whatever_the_policy():
    one = came_back(talk(checklist("first", *THREE)).say("ready"), 901.0).say("resume")
    assert "door" == in_hand(one)
    assert ["first/door"] == one.about("reopened")
    one.say("ready", "hold", "resume")
    assert "lamp" == in_hand(one)


def test_a_long_gap_cannot_be_disregarded():
    one = came_back(talk(checklist("first", *THREE)).say("ready"), 901.0).say("disregard")

    assert "door" == in_hand(one)


def test_a_short_gap_goes_on_where_it_was():
    one = came_back(talk(checklist("first", *THREE)).say("ready"), 900.0).say("resume")

    assert ["Last item: Door, ready.", "Lamp?"] == one.said


def test_coming_back_between_lists_offers_the_next_one():
    one = talk(checklist("first", ask("door")), checklist("next", ask("lamp"))).say("ready")
    came_back(one, 30.0).say("resume")

    assert State.READY is mode(one)
    assert ["Next list: Next. Say proceed."] == one.said


def test_abort_just_after_a_list_opens_its_procedure():
    """The last answer may have closed the list a moment before the trouble."""
    stop = checklist("stop", ask("lever"), kind=ListKind.ABORT)
    first = checklist("first", ask("door"), abort="stop")
    one = talk(first, checklist("next", ask("lamp")), stop).say("ready")
    assert State.READY is mode(one)
    one.say("abort")
    assert "stop" == one.session.state.run.list_id
    assert () == one.session.state.plan


def test_abort_after_the_abort_procedure_opens_nothing():
    stop = checklist("stop", ask("lever"), kind=ListKind.ABORT)
    one = talk(checklist("first", ask("door"), abort="stop"), stop).say("abort", "ready", "abort")

    assert State.READY is mode(one)
    assert ["No list is running."] == one.said


@pytest.mark.parametrize(
    "words", [("hold",), ("override",), ("stand by",), ("override", "not fitted")]
)
def test_abort_comes_through_whatever_is_going_on(words: tuple[str, ...]):
    stop = checklist("stop", ask("lever"), kind=ListKind.ABORT)
    first = checklist("first", ask("door", killer=True), item("wind", Advise()), abort="stop")
    one = talk(first, stop).say(*words, "abort")

    assert "stop" == one.session.state.run.list_id
    assert "lever" == in_hand(one)
    assert one.session.state.overriding is None


def test_a_need_that_went_out_of_date_closes_the_gate_again():
    first = checklist("first", ask("door", stale_after=60.0))
    gated = checklist("next", ask("lamp"), needs=(Need("first", "door"),))
    one = talk(first, gated).say("ready").wait(70.0).say("proceed")

    assert ["next"] == one.about("list refused")
