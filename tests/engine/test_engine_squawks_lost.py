"""A squawk whose logbook is lost: it is never said to be kept."""

from __future__ import annotations

import pytest
from engine_rig import ask, checklist, mode, talk, ticked
from engine_talk import Talk

from callout.checklist.model import ListKind
from callout.engine.effects import Priority, Say, StopSaying
from callout.engine.events import Lost
from callout.engine.rules import State
from callout.engine.squawk_state import LAST_WRITTEN, SILENCE

LOST = Lost("logbook", "The disk is full.")
WALK = checklist("walk", ask("cap"), ask("oil"), abort="stop")
STOP = checklist("stop", ask("fuel"), kind=ListKind.ABORT)
NOT_KEPT = "Squawk not kept, the logbook is lost. Write it down."


def squawking() -> Talk:
    return talk(WALK, STOP).say("squawk")


def said_kept(one: Talk) -> list[str]:
    return [text for text in one.said if text.startswith("Squawk kept")]


@pytest.mark.parametrize("silent", [False, True])
def test_one_that_is_opened_after_the_loss_says_so_at_both_ends(silent):
    one = talk(WALK, STOP)
    one.handle(LOST)
    one.say("squawk")
    assert ["Logbook lost, nothing of this is kept. Write it down."] == one.said
    assert State.SQUAWKING is mode(one)  # what is said meanwhile still ticks nothing
    if silent:
        one.wait(SILENCE + 0.1)
    else:
        one.say("end squawk")

    assert [NOT_KEPT, "Cap?"] == one.said
    assert [] == ticked(one)


def test_a_loss_while_one_is_recorded_is_told_at_once_and_at_its_end():
    one = squawking()
    one.handle(LOST)
    assert "Logbook lost, nothing of this is kept. Write it down." in one.said
    one.say("end squawk")

    assert NOT_KEPT in one.said
    assert [] == said_kept(one)


def test_what_was_just_said_to_be_kept_is_taken_back():
    """The very entry that ends it could not be written: the sentence is on its way already."""
    one = squawking().say("end squawk")
    (kept,) = [e for e in one.effects if isinstance(e, Say) and e.text == "Squawk kept."]
    one.handle(LOST)

    assert StopSaying(kept.about) in one.effects
    (told,) = [e for e in one.effects if isinstance(e, Say) and e.text == NOT_KEPT]
    assert Priority.CAUTION is told.priority


def test_one_that_was_written_long_before_stays_kept():
    one = squawking().say("end squawk")
    one.now += LAST_WRITTEN + 0.1
    one.handle(LOST)

    assert NOT_KEPT not in one.said


def test_another_part_that_is_lost_says_nothing_of_squawks():
    one = squawking()
    one.handle(Lost("feed", "silent"))
    one.say("end squawk")

    assert ["Squawk kept."] == said_kept(one)


def test_one_that_is_cleared_without_a_logbook_will_be_open_again_and_is_told_so():
    one = squawking().say("end squawk")
    one.now += 60.0
    one.handle(LOST)
    one.say("clear squawk", "repaired")

    assert "Squawk Cap cleared, repaired, but the logbook is lost: it will be open again." in (
        one.said
    )
