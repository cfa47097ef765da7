"""The pilot's words, silence, readings and faults, one behaviour a test."""

from __future__ import annotations

from decimal import Decimal

from engine_aircraft import aircraft
from engine_day import BEFORE, TO_VOLTS, before_start, started
from engine_rig import in_hand, mode
from engine_talk import Talk

from callout.engine.effects import Listen, Record, Say, Show, StopSaying, Tone
from callout.engine.events import (
    Heard,
    Lost,
    NotUnderstood,
    Reading,
    Restored,
    Resumed,
    Stopped,
)
from callout.engine.rules import State
from callout.words.understand import understand


def test_disregard_undoes_the_last_answer():
    talk = before_start().say("free", "secure", "disregard")

    assert "oil" == in_hand(talk)
    assert ["before-start/oil"] == talk.about("reopened")


def test_disregard_of_the_last_answer_reopens_a_finished_list():
    talk = Talk(aircraft()).open("before-start", "start").say(*BEFORE)
    assert State.READY is mode(talk)
    talk.say("disregard")
    assert "area" == in_hand(talk)


def test_correction_with_a_value_replaces_the_last_one():
    talk = before_start().say(*TO_VOLTS, "two four", "correction two five")

    ticks = [
        dict(f.data)["answer"]
        for f in talk.facts
        if f.about == "before-start/volts" and f.fact == "ticked"
    ]
    assert ["24", "25"] == ticks
    assert "area" == in_hand(talk)


def test_a_correction_out_of_range_leaves_the_item_open():
    talk = before_start().say(*TO_VOLTS, "two four", "correction two three")

    assert "volts" == in_hand(talk)


def test_correction_alone_asks_the_last_item_again():
    assert "blades" == in_hand(before_start().say("free", "correction"))


def test_go_back_asks_the_item_before():
    talk = before_start().say("free", "secure", "go back")

    assert "oil" == in_hand(talk)


def test_abort_opens_the_lists_own_procedure_in_one_step():
    talk = before_start().say("free", "abort")

    assert "stop" == talk.session.state.run.list_id
    assert "Fuel lever?" == talk.said[-1]
    assert ["before-start"] == talk.about("list aborted")


def test_an_abort_can_be_called_by_its_name_and_an_emergency_anywhere():
    assert "hot" == started().say("hot start").session.state.run.list_id
    assert "fire" == started().say("fire on the ground").session.state.run.list_id
    assert "fire" == before_start().say("fire on the ground").session.state.run.list_id


def test_no_list_follows_an_abort_by_itself():
    talk = before_start().say("abort", "closed")

    assert State.READY is mode(talk)
    assert () == talk.session.state.plan
    assert State.ENDED is mode(talk.say("end session"))


def test_go_to_opens_the_other_list():
    talk = Talk(aircraft()).open("after").say("closed")

    assert ["after", "shutdown"] == talk.about("list opened")
    assert ["after"] == talk.about("list complete")


def test_questions_are_answered_and_tick_nothing():
    talk = before_start().say("free")
    assert ["A loose cap loses the oil."] == talk.say("why").said
    assert ["Before start, item 2 of 6. Oil cap."] == talk.say("where am i").said
    assert ["Next: Fire bottle, helper."] == talk.say("who is next").said
    assert talk.say("what is open").said[0].startswith("Open: Oil cap, Fire bottle")
    assert talk.say("help").said[0].startswith("You can say: secure, ")
    assert ["Oil cap?"] == talk.say("say again").said
    assert "oil" == in_hand(talk)


def test_silence_asks_again_once_then_parks():
    talk = before_start().wait(300.0)

    assert 2 == len(talk.about("no answer"))
    assert State.STANDING_BY is mode(talk)
    assert "blades" == in_hand(talk)


def test_the_rest_of_an_accepted_word_is_not_spoken_about():
    talk = before_start().say("free")
    at = talk.now
    talk.now += 0.6
    talk.handle(NotUnderstood("not in the grammar", "no", 0.1, 2, at + 0.2, at + 0.5, "test"))
    assert [] == talk.said
    talk.handle(NotUnderstood("not in the grammar", "no", 0.1, 2, at + 0.6, at + 0.9, "test"))
    assert ["Not understood."] == talk.said
    assert 2 == len(talk.about("not understood"))


def test_words_not_understood_tick_nothing():
    talk = before_start()
    talk.handle(NotUnderstood("not in the grammar", "banana", 0.9, 1, 1.0, 1.4, "test"))
    assert ["Not understood."] == talk.said
    assert "blades" == in_hand(talk.say("banana"))


def test_words_below_the_killers_certainty_are_refused():
    talk = before_start().say("free", certainty=0.6)
    assert "blades" == in_hand(talk)
    assert "oil" == in_hand(talk.say("free", certainty=0.71))


def test_words_meant_for_the_item_before_do_not_count():
    talk = before_start().say("free")
    serial = talk.session.state.grammar.serial
    talk.handle(Heard("secure", 1.0, serial - 1, talk.now, talk.now + 0.4, "test"))
    assert "oil" == in_hand(talk)
    talk.handle(Heard("secure", 1.0, serial, talk.now - 2.0, talk.now, "test"))
    assert "oil" == in_hand(talk)
    assert 2 == len(talk.about("late"))


def test_a_reading_past_a_limit_is_called_in_that_step_and_again_when_it_recurs():
    talk = started()
    for value, calls in ((500, 0), (730, 1), (740, 1), (600, 1), (725, 2)):
        talk.handle(Reading("heat", Decimal(value), talk.now))
        assert calls == len(talk.about("limit passed")), value


def test_limits_belong_to_the_engine_state_of_the_list():
    talk = before_start()
    talk.handle(Reading("heat", Decimal(730), talk.now))

    assert [] == talk.about("limit passed")


def test_a_caution_is_said_and_does_not_keep_a_value_from_counting():
    talk = started().say("two five", "six eight zero")

    said = "Caution. Exhaust temperature six eight zero degrees, at most six five zero."
    assert said == talk.said[0]
    assert "start/lit" == talk.about("ticked")[-1]


def test_lost_parts_are_said_and_written_down_and_change_nothing():
    talk = before_start()
    assert ["Microphone lost. Answer by the keys."] == talk.handle_said(Lost("microphone", "gone"))
    assert ["Voice lost. Read the screen."] == talk.handle_said(Lost("voice", "gone"))
    assert ["Microphone works again."] == talk.handle_said(Restored("microphone"))
    assert "blades" == in_hand(talk)
    assert 2 == len([f for f in talk.facts if f.fact == "lost"])


def test_after_a_crash_it_says_where_it_stands_and_holds():
    talk = before_start().say("free")
    talk.now += 90
    talk.handle(Resumed(90.0))

    assert [
        "Interrupted for one minute three zero seconds. Before start. Item Oil cap. Say resume."
    ] == talk.said
    assert State.HOLDING is mode(talk)
    assert "oil" == in_hand(talk.say("resume"))


def test_time_never_runs_backwards():
    talk = started().say("two five", "four hundred")
    ends = talk.session.state.timer.ends
    talk.session.handle(Reading("speed", Decimal(30), 0.0), 0.0)

    assert ends == talk.session.state.timer.ends
    assert talk.now == talk.session.state.now


def test_stopping_leaves_the_list_unfinished_by_name():
    talk = before_start().say("free")
    talk.handle(Stopped("stopped at the keyboard"))

    left = next(f for f in talk.facts if f.fact == "list left")
    assert "oil; bottle; power; volts; area" == dict(left.data)["open"]
    assert State.ENDED is mode(talk)


def test_an_event_no_rule_knows_names_state_and_trigger_and_changes_nothing():
    talk = before_start()
    talk.handle(Stopped("stop"))
    before = talk.session.state
    effects = talk.handle(Lost("voice", "gone"))

    assert (Record("no rule", "", (("state", "ended"), ("trigger", "part lost"))),) == effects
    assert before == talk.session.state


def test_effects_come_in_the_order_they_must_be_carried_out():
    talk = before_start().say("free")
    order = {Record: 0, Show: 1, Listen: 2, StopSaying: 3, Tone: 3, Say: 3}

    ranks = [order[type(e)] for e in talk.effects]
    assert sorted(ranks) == ranks


def test_a_killer_items_answer_asks_for_more_certainty():
    talk = before_start()
    match = understand(talk.session.state.grammar, "free")

    assert match is not None
    assert talk.aircraft.settings.killer_certainty == match.certainty
