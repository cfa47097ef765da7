"""The eight invariants, searched for in three aircraft; and a pilot who answers right."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from budget import examples
from engine_aircraft import aircraft, band
from engine_machine import Talking
from engine_pilot import walk
from engine_rig import ask, checklist, choice, go_to, item, only, rig
from hypothesis import settings

from callout.checklist.load import load
from callout.checklist.model import (
    Advise,
    Aircraft,
    Await,
    Condition,
    ListKind,
    Need,
    ReadValue,
    ResumePolicy,
    Settings,
    Wait,
)
from callout.engine import events as ev
from callout.engine.effects import Listen
from callout.engine.session import Session
from callout.words.jsgf import samples
from callout.words.understand import understand

ROOT = Path(__file__).parents[2]

CROOKED = rig(
    checklist(
        "first",
        choice("way"),
        ask("port", killer=True, only_if=only("way", "left")),
        go_to("second", only_if=only("way", "right")),
        item("wind", Advise()),
        item("warm", Wait(20.0, (10.0,))),
        item("speed", Await(Condition("speed", band("20", "80"), 5.0), within=12.0)),
        item("volts", ReadValue("battery", band("24", "29")), killer=True, stale_after=30.0),
        choice("late", killer=True),
        ask("seat", gate=True),
        abort="stop",
    ),
    checklist(
        "second",
        ask("port", killer=True, only_if=only("way", "left"), stale_after=20.0),
        item("heat", Await(Condition("heat", band("200")), within=8.0, missed="second-stop")),
        ask("lamp", only_if=only("late", "left")),
        go_to("third"),
        engine_state="start",
        needs=(Need("first", "volts"),),
        abort="stop",
    ),
    checklist("third", ask("lamp", only_if=only("late", "right"))),
    checklist("stop", ask("lever"), item("wind", Advise()), kind=ListKind.ABORT),
    checklist("second-stop", ask("lever", killer=True), ask("lamp"), kind=ListKind.ABORT),
    checklist("fire", ask("bottle", only_if=only("way", "left")), kind=ListKind.EMERGENCY),
)
"""Everything that can be said in the language, in as few items as possible."""


class TalkingInTheCrooked(Talking):
    """The same where choices, gates, waits and lists lead into one another."""

    def make(self) -> Aircraft:
        return CROOKED


class TalkingInTheRestarted(Talking):
    """The same under the strictest policy of resume, with looks."""

    def make(self) -> Aircraft:
        strict = Settings(resume=ResumePolicy.RESTART_SECTION, look_time=1.0)
        return replace(CROOKED, settings=strict)


class TalkingInTheExample(Talking):
    """The same in the example aircraft's own lists."""

    def make(self) -> Aircraft:
        return EXAMPLE


EXAMPLE = load(ROOT / "checklists" / "reedlark.yaml")

TestInvariants = Talking.TestCase
TestInvariants.settings = settings(max_examples=examples(75), stateful_step_count=60, deadline=None)
TestInvariantsInTheCrooked = TalkingInTheCrooked.TestCase
TestInvariantsInTheCrooked.settings = settings(
    max_examples=examples(50), stateful_step_count=60, deadline=None
)
TestInvariantsInTheRestarted = TalkingInTheRestarted.TestCase
TestInvariantsInTheRestarted.settings = settings(
    max_examples=examples(30), stateful_step_count=60, deadline=None
)
TestInvariantsInTheExample = TalkingInTheExample.TestCase
TestInvariantsInTheExample.settings = settings(
    max_examples=examples(40), stateful_step_count=60, deadline=None
)


def test_a_pilot_who_answers_right_completes_every_list():
    for plane in (aircraft(), EXAMPLE):
        steps = list(walk(plane))
        assert steps[-1][0] == "ended"
        assert len(steps) < 400


def test_samples_of_the_grammar_are_understood_in_the_engine():
    """The words room's sampler and the engine agree on the example's first grammar."""
    session = Session(EXAMPLE)
    session.handle(ev.SessionOpened(()), 0.0)
    listening = session.state.grammar
    assert isinstance(Listen(listening), Listen)
    for text in samples(listening, 50):
        assert understand(listening, text) is not None
