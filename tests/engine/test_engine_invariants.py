"""The eight invariants, searched for by random talk, readings, silence and faults.

Each step of the machine is checked against the state before it, so a failure
names the utterance that broke the rule.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from engine_aircraft import aircraft
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from callout.checklist.load import load
from callout.checklist.model import Advise, Aircraft, Ask, Choose, Item, Wait
from callout.engine import events as ev
from callout.engine.answers import wanted_band
from callout.engine.effects import Effect, Listen, Priority, Record, Say, Show
from callout.engine.grammar import gauge_of
from callout.engine.limits import Level, judge
from callout.engine.rules import State
from callout.engine.session import Session
from callout.engine.state import SessionState, Status, applies
from callout.words.jsgf import samples
from callout.words.say_numbers import say_digits
from callout.words.understand import understand
from callout.words.universal import ALWAYS_HEARD

ROOT = Path(__file__).parents[2]
SILENT = (State.CLOSED, State.ENDED)

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


class Talking(RuleBasedStateMachine):
    """A session under everything that can come in."""

    def __init__(self) -> None:
        super().__init__()
        self.plane = self.make()
        self.session = Session(self.plane)
        self.now = 0.0
        self.facts: list[Record] = []
        self.utterances = 0
        self.override_asked: dict[str, int] = {}
        self.confirmed: set[str] = set()

    def make(self) -> Aircraft:
        return aircraft()

    @initialize()
    def begin(self) -> None:
        self.step(ev.SessionOpened(()))

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

    @rule()
    def is_not_understood(self) -> None:
        serial = self.session.state.grammar.serial
        self.step(ev.NotUnderstood("not in the grammar", "free", 0.99, serial, self.now, self.now))

    @rule(seconds=st.sampled_from([0.1, 1.0, 5.0, 13.0, 31.0, 400.0]))
    def nothing_is_said(self, seconds: float) -> None:
        """Silence: deadlines come, each at its own moment."""
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

    @rule(part=st.sampled_from(["microphone", "voice", "feed"]), works=st.booleans())
    def a_part_fails(self, part: str, works: bool) -> None:
        self.step(ev.Restored(part) if works else ev.Lost(part, "gone"))

    @rule(gap=st.sampled_from([0.0, 3.0, 600.0]))
    def the_program_comes_back(self, gap: float) -> None:
        """A kill at any moment: the state is what a replay of the events gives."""
        self.now += gap
        self.step(ev.Resumed(gap))

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
        after = self.session.state
        self.complete_means_complete(facts, after)
        self.killers_are_passed_by_two_utterances(before, event, facts)
        self.only_the_grammar_ticks(before, event, facts)
        self.values_are_in_range(before, facts)
        self.limits_are_called(before, event, effects)
        self.silence_ticks_nothing(before, event, facts, after)
        self.time_goes_on(before, after, facts)
        self.the_universal_words_are_heard(after)
        self.effects_are_in_order(effects)

    # the invariants

    def complete_means_complete(self, facts: list[Record], after: SessionState) -> None:
        """1: complete only if nothing applicable is open, deferred, skipped or overridden."""
        for fact in facts:
            if fact.fact == "list complete":
                run = [run for run in after.closed if run.list_id == fact.about][-1]
                items = self.plane.list(run.list_id).items()
                for item, mark in zip(items, run.marks, strict=True):
                    assert mark.status is Status.TICKED or not applies(item, after.choices)
                assert not run.forced

    def killers_are_passed_by_two_utterances(
        self, before: SessionState, event: ev.Event, facts: list[Record]
    ) -> None:
        """2: a killer is ticked by its own full answer, or overridden by two utterances."""
        for fact in facts:
            if fact.fact == "override asked":
                self.override_asked[fact.about] = self.utterances
            item = self.item_about(fact)
            if item is None or not item.killer:
                continue
            assert fact.fact not in ("deferred", "skipped")
            if fact.fact == "overridden":
                assert dict(fact.data)["reason"] in self.plane.settings.reasons
                assert self.utterances >= self.override_asked[fact.about] + 2
            if fact.fact == "ticked" and isinstance(item.task, Ask):
                assert isinstance(event, ev.Heard)
                answers = {
                    a for answer in item.task.answers for a in (answer, f"correction {answer}")
                }
                assert event.text in answers
                assert event.certainty >= self.plane.settings.killer_certainty

    def only_the_grammar_ticks(
        self, before: SessionState, event: ev.Event, facts: list[Record]
    ) -> None:
        """3: a tick by words is a phrase of the grammar that was active, sure enough."""
        if isinstance(event, ev.NotUnderstood):
            assert [] == [fact for fact in facts if fact.fact == "ticked"]
        for fact in facts:
            if fact.fact != "ticked" or not isinstance(event, ev.Heard):
                continue
            item = self.item_about(fact)
            if item is None or not isinstance(item.task, (Ask, Choose)):
                continue
            match = understand(before.grammar, event.text)
            assert match is not None
            assert event.certainty >= match.certainty
            assert event.grammar == before.grammar.serial
            assert match.means.partition(":")[0] in ("answer", "option", "correct")

    def values_are_in_range(self, before: SessionState, facts: list[Record]) -> None:
        """4: a value item is ticked by a value in its range and inside its limits."""
        del before
        for fact in facts:
            item = self.item_about(fact)
            if fact.fact != "ticked" or item is None:
                continue
            gauge = gauge_of(self.plane, item)
            if gauge is not None:
                value = Decimal(dict(fact.data)["answer"])
                state = self.plane.list(fact.about.partition("/")[0]).engine_state
                assert wanted_band(item).holds(value)
                assert judge(gauge, state, value).level is not Level.NEVER

    def limits_are_called(
        self, before: SessionState, event: ev.Event, effects: tuple[Effect, ...]
    ) -> None:
        """5: a limit passed is announced in the very step, and again when it recurs."""
        if not isinstance(event, ev.Reading) or before.mode in SILENT:
            return
        gauge = next((g for g in self.plane.gauges if g.id == event.gauge), None)
        if gauge is None:
            return
        run = before.run or (before.closed[-1] if before.closed else None)
        state = self.plane.list(run.list_id).engine_state if run is not None else "any"
        verdict = judge(gauge, state, event.value)
        said = [e for e in effects if isinstance(e, Say) and e.priority is Priority.WARNING]
        if verdict.level is Level.NEVER and f"{gauge.id}/NEVER" not in before.passed:
            assert any("never" in warning.text for warning in said)

    def silence_ticks_nothing(
        self, before: SessionState, event: ev.Event, facts: list[Record], after: SessionState
    ) -> None:
        """6: time finishes a timed wait whose whole time has passed, and nothing else."""
        if isinstance(event, ev.Heard | ev.Reading):
            return
        for fact in facts:
            assert fact.fact not in ("overridden", "skipped", "deferred", "list complete") or (
                any(other.fact == "ticked" for other in facts)
            )
            if fact.fact != "ticked":
                continue
            item = self.item_about(fact)
            assert item is not None
            if isinstance(event, ev.Clock) and isinstance(item.task, Wait):
                assert before.timer is not None
                assert after.now >= before.timer.began + item.task.seconds
            else:
                assert isinstance(event, ev.SpeechEnded)
                assert isinstance(item.task, Advise)

    def time_goes_on(self, before: SessionState, after: SessionState, facts: list[Record]) -> None:
        """7: session time never falls; a running timer's end moves only with its item."""
        assert after.now >= before.now
        same_item = [fact for fact in facts if fact.fact in ("asked", "ticked")] == []
        if same_item and before.timer is not None and after.timer is not None:
            assert before.timer.ends == after.timer.ends

    def the_universal_words_are_heard(self, after: SessionState) -> None:
        """8: always in the grammar, always with the same meaning."""
        if after.mode in SILENT:
            return
        means = {phrase.means for phrase in after.grammar.phrases}
        assert {f"word:{word.name}" for word in ALWAYS_HEARD} <= means

    def effects_are_in_order(self, effects: tuple[Effect, ...]) -> None:
        """Record, Show, Listen, then what sounds."""
        ranks = {Record: 0, Show: 1, Listen: 2}
        order = [ranks.get(type(effect), 3) for effect in effects]
        assert sorted(order) == order

    def item_about(self, fact: Record) -> Item | None:
        list_id, _, item_id = fact.about.partition("/")
        if not item_id:
            return None
        return next(i for i in self.plane.list(list_id).items() if i.id == item_id)


class TalkingInTheExample(Talking):
    """The same in the example aircraft's own lists."""

    def make(self) -> Aircraft:
        return EXAMPLE


EXAMPLE = load(ROOT / "checklists" / "reedlark.yaml")

TestInvariants = Talking.TestCase
TestInvariants.settings = settings(max_examples=150, stateful_step_count=60, deadline=None)
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
