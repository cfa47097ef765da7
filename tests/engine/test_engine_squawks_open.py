"""Open squawks in the engine: told, read at their stations, played, closed, grounding the aircraft.

Common practice of maintenance, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from engine_rig import in_hand, mode, rig, talk, ticked
from engine_talk import Talk
from squawk_talk import LISTS, PAST, opened

from callout.checklist.model import Settings
from callout.engine.effects import Say
from callout.engine.events import (
    Heard,
    SessionOpened,
    SpeechEnded,
)
from callout.engine.rules import State
from callout.engine.squawk_state import closed_lists


def test_those_left_open_are_told_in_one_sentence_when_a_session_begins():
    one = opened()

    assert "Aircraft grounded. Two open squawks: Tail, Oil." == one.said[0]
    many = opened(*(("1.1", "", "", name, 1, "", "", False, True) for name in "abcde"))
    assert "Five open squawks: a, b, c, two more." == many.said[0]
    assert "Walk." == talk(*LISTS).said[0]


def test_each_is_read_before_the_first_item_of_its_station_and_once_a_session():
    one = opened()
    one.say("ready")
    assert ["Bay.", "Open squawk, three days old: Oil.", "Oil?"] == one.said
    one.say("go back", "ready")
    assert "Open squawk, three days old: Oil." not in one.said
    one.say("ready")
    texts = [text for text in one.said if text.startswith("Open squawk")]
    assert ["Open squawk, today: Tail, grounds the aircraft. Noted: crack in the fin."] == texts


def test_text_made_by_a_machine_is_never_read_without_saying_so():
    one = opened(("7.1", "walk/cap", "nose", "Cap", 1, "loose rivet", "unverified", False, True))

    assert "Open squawk, yesterday: Cap. Unverified: loose rivet." in one.said


def test_a_squawk_is_closed_by_two_utterances_and_how_is_written_down():
    one = opened().say("ready", "clear squawk")
    assert State.CLOSING_SQUAWK is mode(one)
    assert 2 == len(one.session.state.squawks.open)
    one.say("no fault found")

    (closed,) = [f for f in one.facts if f.fact == "squawk closed"]
    data = dict(closed.data)
    assert ("7.1", "no fault found", "test") == (data["squawk"], data["how"], data["by"])
    assert "Squawk Oil cleared, no fault found." in one.said
    assert "oil" == in_hand(one)


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_closing_can_be_called_off(word):
    one = opened().say("close squawk", word)

    assert 2 == len(one.session.state.squawks.open)
    assert State.ASKING is mode(one)


def test_disregard_opens_it_again_and_leaves_the_last_item_alone():
    one = opened().say("ready", "close squawk", "repaired", "disregard")

    assert {"7.1", "9.2"} == {known.key for known in one.session.state.squawks.open}
    assert ["walk/cap"] == ticked(one)
    one.say("disregard")
    assert "cap" == in_hand(one)


def test_a_recording_is_played_on_request_and_nothing_said_in_it_ticks_anything():
    one = opened(PAST[0]).say("play squawk")
    (say,) = [e for e in one.effects if isinstance(e, Say) and e.clip]
    assert "7.1" == say.clip
    one.now += 2.0
    serial = one.session.state.grammar.serial
    one.handle(Heard("ready", 1.0, serial, one.now - 0.5, one.now, "test"))
    assert [] == ticked(one)
    one.now += 5.0
    one.handle(SpeechEnded(say.say))
    assert ["Cap?"] == one.said
    one.say("ready")
    assert ["walk/cap"] == ticked(one)


@pytest.mark.parametrize("word", ["say again", "stand by", "abort"])
def test_what_cuts_a_recording_ends_its_bar_on_answers(word):
    one = opened(PAST[0]).say("play squawk")
    serial = one.session.state.grammar.serial
    one.now += 2.0
    one.handle(Heard(word, 1.0, serial, one.now - 0.5, one.now, "test"))
    one.say("ready")

    assert 1 == len(ticked(one))


def test_words_about_a_squawk_are_heard_only_with_one_in_hand():
    none, one = talk(*LISTS), opened()
    texts = {p.text for p in none.session.state.grammar.phrases}
    assert "squawk" in texts
    assert not texts & {
        "play squawk",
        "clear squawk",
        "close squawk",
        "next squawk",
        "ground the aircraft",
    }
    assert "ground the aircraft" in {p.text for p in one.session.state.grammar.phrases}


# grounding


def test_a_grounded_aircrafts_start_opens_by_two_utterances_only_and_is_never_complete():
    one = talk(*LISTS).say("squawk", "end squawk", "ground the aircraft")
    assert "Aircraft grounded, squawk Cap. Start opens by override only." in one.said
    one.say("ready", "ready", "ready", "proceed")
    assert State.READY is mode(one)
    assert "Start not opened. Aircraft grounded, squawk Cap." in one.said[0]
    one.say("open start")
    assert State.READY is mode(one)
    one.say("override", "not required today")
    assert State.CONFIRMING_OVERRIDE is mode(one)
    one.say("confirm override", "ready")

    (overridden,) = [f for f in one.facts if f.fact == "overridden"]
    assert ("1", "not required today") == (
        dict(overridden.data)["squawks"], dict(overridden.data)["reason"]
    )  # fmt: skip
    assert ["list complete", "list not complete"] == [
        f.fact for f in one.facts if f.fact in ("list complete", "list not complete")
    ]
    assert "Aircraft grounded, squawk Cap." in one.said


def test_what_comes_after_a_start_opens_though_the_aircraft_is_grounded():
    """A machine that flies or runs must be brought down and shut down."""
    one = opened().say("open landed")
    one = opened()
    one.say("ready", "ready", "ready", "open landed")

    assert "landed" == one.session.state.run.list_id


def test_a_list_of_a_start_that_runs_when_the_aircraft_is_grounded_is_not_complete():
    one = Talk(rig(*LISTS)).open("start").say("squawk", "end squawk", "ground the aircraft")
    assert "Start is running and will not be complete." in one.said
    one.say("ready")

    assert "list not complete" in [f.fact for f in one.facts]


def test_closing_the_squawk_or_disregard_lifts_the_grounding():
    for words in (("close squawk", "repaired"), ("disregard",)):
        one = talk(*LISTS).say("squawk", "end squawk", "ground the aircraft", *words)
        one.say("ready", "ready", "ready", "proceed")

        assert "start" == one.session.state.run.list_id


def test_the_file_says_which_lists_a_grounding_closes():
    plane = rig(*LISTS)
    assert ("start",) == closed_lists(plane)
    other = replace(plane, settings=Settings(grounding_closes=("walk", "landed")))
    assert ("walk", "landed") == closed_lists(other)
    none = replace(plane, settings=Settings(grounding_closes=()))
    one = Talk(none)
    one.handle(SessionOpened(("start",), squawks=PAST))
    assert "start" == one.session.state.run.list_id


def test_a_recorded_session_says_so_first():
    one = opened(recorded=True)

    assert "This session is being recorded." == one.said[0]
