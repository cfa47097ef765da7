"""What is heard: how sure it must be, when it is late, and what a question costs."""

from __future__ import annotations

from decimal import Decimal

import pytest
from engine_aircraft import band
from engine_rig import ask, checklist, choice, in_hand, item, mode, only, talk, ticked
from engine_talk import Talk

from callout.checklist.model import (
    Advise,
    Await,
    Band,
    Condition,
    Gauge,
    ListKind,
    ReadValue,
    Settings,
    Who,
)
from callout.engine import wording
from callout.engine.events import Heard, Reading, SpeechEnded
from callout.engine.limits import Level, Verdict
from callout.engine.rules import State
from callout.words.understand import understand

STOP = checklist("stop", ask("lever"), kind=ListKind.ABORT)
VOLTS = item("volts", ReadValue("battery", band("24", "29")))
SPEED = item("speed", ReadValue("speed", band("10", "60")))


def certainty(one: Talk, text: str) -> float:
    match = understand(one.session.state.grammar, text)
    assert match is not None
    return match.certainty


def at_door() -> Talk:
    return talk(checklist("first", ask("door"), ask("lamp"), abort="stop"), STOP)


WEIGHTY = [
    ((), "override", 0.7),
    ((), "skip", 0.7),
    ((), "defer", 0.5),
    (("override",), "not fitted", 0.7),
    (("override", "not fitted"), "confirm override", 0.7),
    (("abort", "ready"), "end session", 0.7),
    (("skip", "skip"), "proceed", 0.7),
]


@pytest.mark.parametrize(("before", "word", "sure"), WEIGHTY)
def test_words_that_pass_something_ask_for_more_certainty(
    before: tuple[str, ...], word: str, sure: float
):
    assert sure == certainty(at_door().say(*before), word)


@pytest.mark.parametrize(("killer", "sure"), [(True, 0.7), (False, 0.5)])
def test_a_correction_asks_for_the_certainty_of_the_item_it_is_about(killer: bool, sure: float):
    volts = item("volts", VOLTS.task, killer=killer)
    one = talk(checklist("first", ask("door", killer=killer), volts, ask("lamp"))).say("ready")
    assert sure == certainty(one, "correction ready")
    assert sure == certainty(one.say("two five"), "correction two six")


@pytest.mark.parametrize("word", ["abort", "stand by", "disregard", "help", "say again"])
def test_the_always_heard_words_are_never_late(word: str):
    """Invariant 8: spoken before the grammar changed, they mean the same after it."""
    one = at_door().say("ready")
    serial = one.session.state.grammar.serial
    one.handle(Heard(word, 1.0, serial - 1, one.now - 3.0, one.now, "test"))

    assert [] == one.about("late")
    assert one.effects


def test_other_words_are_late_then():
    one = at_door().say("ready")
    serial = one.session.state.grammar.serial
    one.handle(Heard("skip", 1.0, serial - 1, one.now, one.now, "test"))

    assert ["first/lamp"] == one.about("late")
    assert "lamp" == in_hand(one)


def test_the_running_lists_own_procedure_may_be_called_by_its_name():
    assert "lever" == in_hand(at_door().say("stop"))


def test_a_correction_that_could_be_two_values_is_confirmed():
    one = talk(checklist("first", SPEED, ask("door"))).say("two zero", "correction fifty")
    assert State.CONFIRMING is mode(one)
    assert ["first/speed"] == one.about("reopened")
    one.say("affirm")
    ticks = [dict(fact.data)["answer"] for fact in one.facts if fact.fact == "ticked"]
    assert ["20", "50"] == ticks


def test_a_correction_is_not_queried_as_too_quick():
    one = talk(checklist("first", VOLTS, ask("door")), settings=Settings(look_time=1.0))
    one.say("two five")
    one.now += 0.3
    serial = one.session.state.grammar.serial
    one.handle(Heard("correction two six", 1.0, serial, one.now - 0.2, one.now, "test"))

    assert [] == one.about("quick answer")
    assert ["first/volts", "first/volts"] == ticked(one)


def test_a_question_gives_the_time_to_answer_anew():
    one = talk(checklist("first", ask("door")), settings=Settings(answer_time=12.0))
    one.hear_out()
    one.wait(9.0).say("why")
    one.wait(12.0)

    assert [] == one.about("no answer")


def test_a_question_takes_no_time_away():
    one = talk(checklist("first", ask("door" * 20)), settings=Settings(answer_time=12.0))
    due = one.session.state.answer_due
    assert due is not None
    serial = one.session.state.grammar.serial
    one.handle(Heard("why", 1.0, serial, one.now, one.now, "test"))

    assert (one.session.state.answer_due or 0.0) >= due


def test_the_end_of_a_sentence_that_was_cut_ticks_no_advice():
    """A voice may report late what it had begun before it was cut."""
    one = talk(checklist("first", item("wind", Advise()), ask("door")))
    number = one.session.state.prompt_say
    assert number is not None
    serial = one.session.state.grammar.serial
    one.handle(Heard("help", 1.0, serial, one.now, one.now, "test"))
    one.handle(SpeechEnded(number))

    assert [] == ticked(one)


def test_the_end_of_a_prompt_that_was_cut_is_when_it_was_cut():
    one = at_door()
    number = one.session.state.prompt_say
    assert number is not None
    serial = one.session.state.grammar.serial
    one.now = 2.0
    one.handle(Heard("why", 1.0, serial, one.now, one.now, "test"))
    one.now = 5.0
    one.handle(SpeechEnded(number))

    assert 2.0 == one.session.state.prompt_ended_at


def test_a_condition_may_be_met_inside_its_caution():
    one = talk(
        checklist(
            "first",
            item("heat", Await(Condition("heat", band("600")))),
            ask("door"),
            engine_state="start",
        )
    )
    one.handle(Reading("heat", Decimal(660), one.now))

    assert ["first/heat"] == ticked(one)
    assert ["first/heat"] == one.about("caution")


def test_who_is_next_names_the_next_open_item_that_applies():
    items = (ask("port", only_if=only("way", "left")), ask("lamp", who=Who.HELPER), ask("seat"))
    one = talk(checklist("first", choice("way"), ask("door"), *items)).say("right")
    assert ["Next: Lamp, helper."] == one.say("who is next").said
    one.say("ready", "ready", "go back", "go back")
    assert "door" == in_hand(one)
    one.say("ready", "ready")
    assert ["No further item."] == one.say("who is next").said


def test_who_is_next_passes_over_what_was_answered_already():
    one = talk(checklist("first", ask("door"), ask("lamp"), ask("seat")))
    one.say("defer", "ready", "ready")
    assert "door" == in_hand(one)

    assert ["No further item."] == one.say("who is next").said


GAUGE = Gauge("oil", "oil pressure", "bar", ("bar",), band("0", "10"), 1)
RIG = talk(checklist("first", ask("door"))).aircraft


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (band("2", "6"), "between two and six bar"),
        (band("2"), "at least two bar"),
        (band(None, "6"), "at most six bar"),
        (Band(), "any value"),
    ],
)
def test_a_range_is_said_with_both_its_ends(limits: Band, words: str):
    assert words == wording.band(RIG, GAUGE, limits)


@pytest.mark.parametrize(
    ("level", "side", "words"),
    [
        (Level.NEVER, "below", "Warning. Oil pressure one bar, never below two."),
        (Level.NEVER, "above", "Warning. Oil pressure one bar, never above two."),
        (Level.CAUTION, "below", "Caution. Oil pressure one bar, at least two."),
        (Level.OUTSIDE, "above", "Oil pressure one bar, limit at most two."),
    ],
)
def test_a_passed_limit_is_said_on_its_own_side(level: Level, side: str, words: str):
    verdict = Verdict(level, side, Decimal(2))

    assert words == wording.out_of_range(RIG, GAUGE, Decimal(1), verdict)
