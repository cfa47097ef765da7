"""The eight invariants while a start is watched: random words, gauges, silence and kills."""

from __future__ import annotations

from decimal import Decimal

from budget import examples
from engine_machine import Talking
from engine_start import EXAMPLE, at_the_starter
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import rule

from callout.checklist.model import Aircraft
from callout.engine import events as ev
from callout.engine.watch_state import WAITING

GAUGES = ("gas-generator-speed", "exhaust-temperature", "starter-light")
VALUES = (0, 1, 18, 30, 51, 64, 120, 260, 500, 760, 820)


class TalkingInTheStart(Talking):
    """A session in which the starter is asked for."""

    def __init__(self) -> None:
        super().__init__()
        self.session.state = at_the_starter()
        self.now = at_the_starter().now

    def make(self) -> Aircraft:
        return EXAMPLE

    @rule(seconds=st.sampled_from([0.1, 1.0, 5.0, 13.0, 36.0, 70.0]))
    def nothing_is_said(self, seconds: float) -> None:
        """Silence long enough for every time in the file; several warnings repeat meanwhile."""
        self.pass_in_silence(seconds)

    @rule(gauge=st.sampled_from(GAUGES), value=st.sampled_from(VALUES), count=st.integers(1, 8))
    def a_gauge_of_the_start_reads(self, gauge: str, value: int, count: int) -> None:
        for _ in range(count):
            self.now += 0.1
            self.step(ev.Reading(gauge, Decimal(value), self.now))

    @rule(gauge=st.sampled_from((*GAUGES, "")), kind=st.sampled_from(["stuck", "jumps", "clock"]))
    def a_sensor_lies(self, gauge: str, kind: str) -> None:
        self.step(ev.FeedFault(gauge, kind, "seen"))

    @rule(gauge=st.sampled_from((*GAUGES, "")))
    def a_sensor_is_good_again(self, gauge: str) -> None:
        self.step(ev.FeedGood(gauge))

    def step(self, event: ev.Event, now: float | None = None) -> None:
        before = self.session.state.watch
        count = len(self.facts)
        super().step(event, now)
        new = [fact for fact in self.facts[count:] if fact.fact == "start fault"]
        state = self.session.state
        for fact in new:
            assert before is not None
            fault = EXAMPLE.start_watch.fault(dict(fact.data)["fault"])
            assert state.run is not None
            assert (fault.abort, 0, None) == (state.run.list_id, state.item, state.watch)
        if state.watch is None:
            assert WAITING == state.watched


TestInvariantsInTheStart = TalkingInTheStart.TestCase
TestInvariantsInTheStart.settings = settings(
    max_examples=examples(40), stateful_step_count=50, deadline=None
)
