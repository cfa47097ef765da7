"""The gate of the start list: closed until its items were answered, whoever asks for it."""

from __future__ import annotations

import pytest
from engine_start import EXAMPLE, answer_until
from engine_talk import Talk

GATE = ("fire guard with extinguisher", "area around and above", "rotor blades, across the body")


def test_the_start_list_does_not_open_before_its_gate_was_answered():
    """FAA-H-8083-21 ch. 8 (as reproduced): clear around and above, blades; TM 1-1500: guard."""
    one = Talk(EXAMPLE).open("start")
    refused = one.said[-1]
    by_name = one.say("open start").said[-1]

    for text in (refused, by_name):
        assert text.startswith("Start not opened. First: ")
        assert all(call in text for call in GATE)
    assert [] == one.about("list opened")
    assert ["start", "start"] == one.about("list refused")


@pytest.mark.parametrize("left", ["fire-guard", "area", "blades"])
def test_one_open_item_of_the_gate_keeps_the_start_list_shut_by_order_and_by_name(left: str):
    one = before_start_without(left)
    one.say("open start")

    call = next(i.call for i in EXAMPLE.list("before-start").items() if i.id == left)
    assert "start" == one.about("list refused")[-1]
    assert call in one.said[-1]


@pytest.mark.parametrize("left", ["fire-guard", "area", "blades"])
def test_no_override_opens_the_start_list_while_its_gate_is_not_answered(left: str):
    one = before_start_without(left).say("open start")
    offered = "override" in one.said[-1]
    one.say("override", "already done", "confirm override")

    assert not offered
    assert "start" not in one.about("list opened")
    assert "start" not in one.about("overridden")


def test_what_is_no_gate_can_still_be_overridden_in_two_utterances():
    one = answer_until(Talk(EXAMPLE).open(), "before-start/pedals").say("skip")
    one = answer_until(one, "").say("proceed", "open start")
    assert one.said[-1].endswith("or override.")
    one.say("override", "already done", "confirm override")

    assert "start" == one.about("list opened")[-1]


def before_start_without(left: str) -> Talk:
    """Everything answered right, but this item overridden for a reason."""
    one = answer_until(Talk(EXAMPLE).open(), f"before-start/{left}")
    one.say("override", "already done", "confirm override")
    return answer_until(one, "")
