"""A machine that talks at random, reads gauges, is silent and breaks down.

Each step of it is checked against the state before it, so a failure names the
utterance that broke the rule.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from engine_aircraft import aircraft
from engine_checks import Checks
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from callout.checklist.model import Aircraft, Item
from callout.engine import events as ev
from callout.engine.answers import wanted_band
from callout.engine.effects import Record
from callout.engine.grammar import gauge_of
from callout.engine.session import Session
from callout.words.say_numbers import say_digits

JUNK = st.one_of(
    st.sampled_from(
        [
            "banana",
            "i think it is fine",
            "free and secure",
            "not free",
            "yes no",
            "one",
            "on",
            "confirm",
            "override skip",
            "fifteen fifty",
            "",
        ]
    ),
    st.text(alphabet="abcdefghij ", max_size=12),
)


SQUAWKS = (
    ("7.1", "before-start/oil", "", "Oil cap", 3, "", "", False, True),
    ("9.2", "first/port", "Tail", "Tail", 0, "crack", "typed", True, False),
)


class Talking(Checks, RuleBasedStateMachine):
    """A session under everything that can come in."""

    def __init__(self) -> None:
        super().__init__()
        self.plane = self.make()
        self.session = Session(self.plane)
        self.now = 0.0
        self.facts: list[Record] = []
        self.utterances = 0
        self.override_asked: dict[str, int] = {}

    def make(self) -> Aircraft:
        return aircraft()

    @initialize(past=st.sampled_from([(), SQUAWKS[:1], SQUAWKS]))
    def begin(self, past: tuple[Any, ...]) -> None:
        self.step(ev.SessionOpened((), squawks=past))

    # what comes in

    @rule(data=st.data(), sure=st.sampled_from([1.0, 1.0, 1.0, 0.71, 0.6, 0.4]))
    def says_something_that_counts(self, data: st.DataObject, sure: float) -> None:
        grammar = self.session.state.grammar
        texts = [phrase.text for phrase in grammar.phrases]
        if texts:
            self.heard(data.draw(st.sampled_from(texts)), sure)

    @rule(data=st.data())
    def answers_the_item(self, data: st.DataObject) -> None:
        """Without this the machine would never get far into a list."""
        state = self.session.state
        wanted = [
            p.text
            for p in state.grammar.phrases
            if p.means.startswith(("answer", "option", "reason"))
            or p.means in ("word:PROCEED", "word:RESUME", "word:CONFIRM_OVERRIDE")
        ]
        if wanted:
            self.heard(data.draw(st.sampled_from(wanted)), 1.0)

    @rule(tenths=st.integers(0, 11_000), everyday=st.booleans())
    def says_a_value(self, tenths: int, everyday: bool) -> None:
        value = Decimal(tenths) / 10
        self.heard(say_digits(value), 1.0)
        del everyday

    @rule(data=st.data())
    def says_a_value_the_item_wants(self, data: st.DataObject) -> None:
        item = self.in_hand()
        if item is None or gauge_of(self.plane, item) is None:
            return
        band = wanted_band(item)
        low = band.at_least if band.at_least is not None else Decimal(0)
        over = data.draw(st.integers(-3, 60))
        prefix = data.draw(st.sampled_from(["", "", "correction "]))
        self.heard(prefix + say_digits(abs(low + over)), 1.0)

    @rule(text=JUNK)
    def says_what_does_not_count(self, text: str) -> None:
        self.heard(text, 1.0)

    @rule(back=st.integers(1, 3))
    def answers_late(self, back: int) -> None:
        grammar = self.session.state.grammar
        for phrase in grammar.phrases[:1]:
            self.heard(phrase.text, 1.0, serial=grammar.serial - back)

    @rule(data=st.data())
    def squawks(self, data: st.DataObject) -> None:
        """Without this few squawks would get far."""
        grammar = self.session.state.grammar
        words = ("squawk", "end squawk", "ground the aircraft", "close squawk", "play squawk")
        wanted = [p.text for p in grammar.phrases if p.text in words or p.means[:4] == "how:"]
        if wanted:
            self.heard(data.draw(st.sampled_from(wanted)), 1.0)

    @rule(text=JUNK)
    def types_a_note(self, text: str) -> None:
        self.step(ev.Noted(text, "keys"))

    @rule()
    def a_recording_is_played_to_its_end(self) -> None:
        playing = self.session.state.squawks.playing
        if playing is not None:
            self.step(ev.SpeechEnded(playing.say))

    @rule()
    def is_not_understood(self) -> None:
        serial = self.session.state.grammar.serial
        self.step(ev.NotUnderstood("not in the grammar", "free", 0.99, serial, self.now, self.now))

    @rule(seconds=st.sampled_from([0.1, 1.0, 5.0, 13.0, 31.0, 400.0]))
    def nothing_is_said(self, seconds: float) -> None:
        """Silence: deadlines come, each at its own moment."""
        self.pass_in_silence(seconds)

    def pass_in_silence(self, seconds: float) -> None:
        until = self.now + seconds
        for _ in range(200):
            due = self.session.next_deadline()
            if due is None or due > until:
                break
            self.now = max(self.now, due)
            self.step(ev.Clock())
        else:
            raise AssertionError("deadlines without end")
        self.now = until

    @rule()
    def the_voice_finishes(self) -> None:
        say = self.session.state.prompt_say
        self.step(ev.SpeechEnded(say if say is not None else 0))

    @rule(gauge=st.integers(0, 5), value=st.integers(0, 1100), back=st.sampled_from([0.0, 50.0]))
    def a_gauge_reads(self, gauge: int, value: int, back: float) -> None:
        gauges = self.plane.gauges
        name = gauges[gauge].id if gauge < len(gauges) else "no such gauge"
        self.step(ev.Reading(name, Decimal(value), self.now), now=self.now - back)

    @rule(wait=st.sampled_from([0.2, 1.5]))
    def answers_a_warning(self, wait: float) -> None:
        self.now += wait
        self.heard("roger", 1.0)

    @rule(
        means=st.sampled_from(ev.KeyMeaning),
        before=st.booleans(),
        heard_out=st.booleans(),
    )
    def presses_a_key(self, means: ev.KeyMeaning, before: bool, heard_out: bool) -> None:
        if heard_out:
            self.the_voice_finishes()
        self.now += 1.0
        self.step(ev.Key(means, self.now - (1.5 if before else 0.1), "test"))

    @rule(data=st.data())
    def an_alert_is_said_to_its_end(self, data: st.DataObject) -> None:
        says = [alert.say for alert in self.session.state.alerts if alert.say is not None]
        if says:
            self.step(ev.SpeechEnded(data.draw(st.sampled_from(says))))

    @rule(part=st.sampled_from(["microphone", "voice", "feed"]), works=st.booleans())
    def a_part_fails(self, part: str, works: bool) -> None:
        self.step(ev.Restored(part) if works else ev.Lost(part, "gone"))

    @rule(gap=st.sampled_from([0.0, 3.0, 600.0]))
    def the_program_comes_back(self, gap: float) -> None:
        """A kill at any moment: the state is what a replay of the events gives."""
        self.now += gap
        self.step(ev.Resumed(gap, gap / 2))

    @precondition(lambda self: self.utterances > 30)
    @rule()
    def it_is_stopped(self) -> None:
        self.step(ev.Stopped("test"))

    # helpers

    def in_hand(self) -> Item | None:
        state = self.session.state
        if state.run is None or state.item is None:
            return None
        return tuple(self.plane.list(state.run.list_id).items())[state.item]

    def heard(self, text: str, sure: float, serial: int | None = None) -> None:
        self.utterances += 1
        self.now += 1.0
        given = self.session.state.grammar.serial if serial is None else serial
        self.step(ev.Heard(text, sure, given, self.now - 0.4, self.now, "test"))

    def step(self, event: ev.Event, now: float | None = None) -> None:
        before = self.session.state
        effects = self.session.handle(event, self.now if now is None else now)
        facts = [effect for effect in effects if isinstance(effect, Record)]
        self.facts += facts
        self.all_hold(before, event, effects)
