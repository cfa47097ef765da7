"""Squawks in the engine: nothing said in one counts but its end.

What is a squawk, that it is written up, carried forward and signed off, is common
practice of maintenance, no source.
"""

from __future__ import annotations

import pytest
from engine_rig import mode, talk, ticked
from squawk_talk import LISTS, PAST, keeps, squawking, talks

from callout.engine.effects import Keep
from callout.engine.events import (
    Heard,
    Noted,
    SessionOpened,
)
from callout.engine.rules import State
from callout.engine.session import Session, step
from callout.engine.squawk_state import LONGEST, SILENCE
from callout.words.universal import ALWAYS_HEARD, Word


def test_a_squawk_is_kept_from_its_word_to_its_end_and_the_item_is_asked_again():
    one = talk(*LISTS)
    one.say("squawk")
    began = one.now

    assert [Keep("1", began)] == keeps(one)
    assert ["Go ahead."] == one.said
    talks(one)
    one.say("end squawk")

    assert [Keep("1", began, one.now)] == keeps(one)
    assert ["Squawk kept.", "Cap?"] == one.said
    (kept,) = [f for f in one.facts if f.fact == "squawk kept"]
    assert "walk/cap" == kept.about
    assert f"{one.now - 0.5:.2f}" == dict(kept.data)["until"]  # "end squawk" itself is no part
    assert [] == ticked(one)


@pytest.mark.parametrize("words", ["ready", "proceed", "skip", "hold", "override", "affirm", "why"])
def test_nothing_said_in_a_squawk_ticks_commands_or_advances(words):
    one = squawking()
    before = one.session.state
    one.say(words)
    after = one.session.state

    assert (before.mode, before.item, before.run) == (after.mode, after.item, after.run)
    assert [] == one.said


def test_words_in_it_that_are_not_understood_are_neither_told_nor_answered():
    one = squawking()
    talks(one)

    assert () == one.effects


def test_typed_lines_are_its_text_as_they_were_typed():
    one = squawking()
    one.handle(Noted("Crack in the fin, 12 mm\n", "keys"))
    one.handle(Noted("  needs a look ", "keys"))
    one.say("end squawk")

    (known,) = one.session.state.squawks.open
    assert ("Crack in the fin, 12 mm needs a look", "typed") == (known.text, known.kind)


def test_silence_ends_it_after_the_stated_time_and_ticks_nothing():
    one = squawking()
    talks(one)
    one.wait(SILENCE - 0.1)
    assert State.SQUAWKING is mode(one)
    one.wait(0.2)

    assert State.ASKING is mode(one)
    assert ["squawk kept", "silence"] == [
        one.facts[-1].fact, dict(one.facts[-1].data)["how"]
    ]  # fmt: skip
    assert ["Squawk kept.", "Cap?"] == one.said
    assert [] == ticked(one)


def test_one_in_which_nothing_was_heard_is_kept_all_the_same_and_says_so():
    one = squawking()
    one.wait(SILENCE + 0.1)

    assert "Squawk kept, no words heard." in one.said
    assert 1 == len(one.session.state.squawks.open)


def test_it_ends_after_two_minutes_however_much_is_said():
    one = squawking()
    for _ in range(int(LONGEST / 5)):
        one.wait(5.0)
        if mode(one) is State.SQUAWKING:
            talks(one, 0.0)

    kept = [dict(f.data)["how"] for f in one.facts if f.fact == "squawk kept"]
    assert ["longest"] == kept


@pytest.mark.parametrize("before", [(), ("stand by",), ("hold",), ("ready", "override")])
def test_it_leads_back_to_where_the_list_stood(before):
    one = talk(*LISTS).say(*before)
    was = mode(one)
    one.say("squawk", "end squawk")

    assert (State.ASKING if was is State.REASONING else was) is mode(one)
    assert [] == [about for about in ticked(one) if about != "walk/cap"]


def test_say_again_says_the_items_call_after_a_squawk_while_standing_by():
    one = talk(*LISTS).say("stand by", "squawk", "end squawk", "say again")

    assert ["Cap?"] == one.said


def test_but_for_what_is_always_heard_only_its_end_and_procedures_by_name_are_heard_in_it():
    phrases = squawking().session.state.grammar.phrases
    words = {p.means.removeprefix("word:") for p in phrases if p.means.startswith("word:")}

    assert {"word", "procedure"} == {p.means.partition(":")[0] for p in phrases}
    assert {word.name for word in (*ALWAYS_HEARD, Word.END_SQUAWK)} == words


def test_disregard_takes_the_squawk_back_and_nothing_of_it_is_kept():
    one = squawking().say("disregard")

    assert [True] == [keep.drop for keep in keeps(one)]
    assert () == one.session.state.squawks.open
    assert ["Squawk dropped.", "Cap?"] == one.said


def test_a_replay_of_the_events_gives_the_same_squawks():
    events: list[tuple[float, object]] = []
    one = talk(*LISTS)
    first = SessionOpened((), squawks=PAST)
    session, again = Session(one.aircraft), Session(one.aircraft)
    script = (
        *("squawk", "disregard", "squawk", "end squawk", "ground the aircraft", "ready"),
        *("close squawk", "repaired", "disregard", "next squawk", "squawk", "abort"),
    )
    events.append((0.0, first))
    session.handle(first, 0.0)
    now = 0.0
    for words in script:
        now += 3.0
        event = Heard(words, 1.0, session.state.grammar.serial, now - 0.5, now, "test")
        session.handle(event, now)
        events.append((now, event))
    for at, event in events:
        again.handle(event, at)  # type: ignore[arg-type]

    assert session.state == again.state
    assert {"7.1", "9.2", "2", "3"} == {known.key for known in session.state.squawks.open}


def test_step_is_pure_about_squawks():
    one = squawking()
    before = one.session.state
    event = Heard("end squawk", 1.0, before.grammar.serial, one.now, one.now + 0.5, "test")

    assert step(one.aircraft, before, event, one.now + 0.5) == step(
        one.aircraft, before, event, one.now + 0.5
    )
    assert State.SQUAWKING is before.mode
