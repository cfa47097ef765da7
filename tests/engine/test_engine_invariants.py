"""The eight invariants, searched for in three aircraft; and a pilot who answers right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from engine_aircraft import aircraft, band
from engine_machine import Talking
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
from callout.engine.answers import wanted_band
from callout.engine.effects import Listen
from callout.engine.grammar import gauge_of
from callout.engine.rules import State
from callout.engine.session import Session
from callout.words.jsgf import samples
from callout.words.say_numbers import say_digits
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
TestInvariants.settings = settings(max_examples=150, stateful_step_count=60, deadline=None)
TestInvariantsInTheCrooked = TalkingInTheCrooked.TestCase
TestInvariantsInTheCrooked.settings = settings(
    max_examples=100, stateful_step_count=60, deadline=None
)
TestInvariantsInTheRestarted = TalkingInTheRestarted.TestCase
TestInvariantsInTheRestarted.settings = settings(
    max_examples=50, stateful_step_count=60, deadline=None
)
TestInvariantsInTheExample = TalkingInTheExample.TestCase
TestInvariantsInTheExample.settings = settings(
    max_examples=40, stateful_step_count=60, deadline=None
)


def walk(plane: Aircraft) -> Iterator[tuple[str, str]]:
    """A pilot who answers everything right, to the end of the flying day."""
    session = Session(plane)
    now = 0.0
    session.handle(ev.SessionOpened(()), now)
    while not session.ended:
        now = _one_right_answer(session, plane, now)
        state = session.state
        yield state.mode.value, state.run.list_id if state.run else ""


def _one_right_answer(session: Session, plane: Aircraft, now: float) -> float:
    now += 2.0
    state = session.state
    if state.prompt_say is not None:
        session.handle(ev.SpeechEnded(state.prompt_say), now)
        if session.state.item != state.item or session.ended:
            return now
    if session.state.mode is State.TIMING:
        now = max(now, session.next_deadline() or now)
        session.handle(ev.Clock(), now)
        return now
    now += 4.0
    grammar = session.state.grammar
    text = _right_value(session, plane) or next(
        p.text
        for p in grammar.phrases
        if p.means.startswith(("answer", "option")) or p.means == "word:PROCEED"
    )
    session.handle(ev.Heard(text, 1.0, grammar.serial, now, now + 0.5, "test"), now + 0.5)
    return now + 0.5


def _right_value(session: Session, plane: Aircraft) -> str:
    """The lowest value that the item in hand takes; "" if it takes none."""
    state = session.state
    if state.run is None or state.item is None:
        return ""
    item = tuple(plane.list(state.run.list_id).items())[state.item]
    gauge = gauge_of(plane, item)
    if gauge is None:
        return ""
    band = wanted_band(item)
    low = band.at_least if band.at_least is not None else gauge.possible.at_least
    assert low is not None
    return say_digits(low)


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
