"""Whatever is said, read, lost or killed: what counts, cools down and is watched stays true."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from budget import examples
from duties_rig import ATTEMPTS, CHARGE, COOL, DOWN, FIRE, HOURS, cooling, cooling_lists, starting
from engine_aircraft import band
from engine_machine import Talking
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, rule

from callout.checklist.model import Aircraft, Ask, Condition, Wait
from callout.engine import events as ev
from callout.engine.answers import wanted_band
from callout.engine.counters import refusal
from callout.engine.duties_times import cooled_at
from callout.engine.effects import Record
from callout.engine.grammar import gauge_of
from callout.engine.rundown_sign import shows_fire
from callout.engine.state import SessionState
from callout.words.say_numbers import say_digits

LIGHT = replace(ATTEMPTS, shown=Condition("battery", band("15")))


def machine() -> Aircraft:
    """Starts, flights, cool-downs and shutdowns in one aircraft, a feed for all of it."""
    lists = (*starting().lists[:-2], *cooling_lists()[1:], starting().lists[-1])
    return replace(
        cooling(replace(COOL, blocks=("shut/lever", "down/lever")), run_down=DOWN),
        residual_fire=replace(FIRE, starts=("shut/lever", "down/lever")),
        lists=tuple({one.id: one for one in lists}.values()),
        counters=(LIGHT, CHARGE, HOURS),
    )


class TalkingOnDuty(Talking):
    """The machine that talks at random, with rules of its own."""

    def make(self) -> Aircraft:
        return machine()

    @initialize(first=st.sampled_from([(), ("cool", "shut", "end"), ("shut", "end"), ("start",)]))
    def begin(self, first: tuple[str, ...]) -> None:
        """From the middle of the day as well: few steps lead from its beginning to its end."""
        more = tuple(one.id for one in self.plane.lists if one.id not in first)
        normal = [*first, *(name for name in more if name not in ("stop", "burning"))]
        self.step(ev.SessionOpened(tuple(normal)))

    @rule(speed=st.sampled_from([0, 60, 85]), later=st.sampled_from([0.1, 20.0, 70.0]))
    def speed_is_read(self, speed: int, later: float) -> None:
        self.now += later
        self.step(ev.Reading("speed", Decimal(speed), self.now))

    @rule(heat=st.sampled_from([300, 350, 400, 550, 640]), later=st.sampled_from([0.1, 20.0, 70.0]))
    def heat_is_read(self, heat: int, later: float) -> None:
        self.now += later
        self.step(ev.Reading("heat", Decimal(heat), self.now))

    @rule(times=st.integers(3, 8))
    def does_what_is_asked(self, times: int) -> None:
        """So that it gets from the start to the end of a day."""
        for _ in range(times):
            item, mode = self.in_hand(), self.session.state.mode.value
            if mode in ("standing by", "holding"):
                self.heard("resume", 1.0)
            elif mode in ("ready", "reviewing"):
                self.heard("proceed", 1.0)
            elif item is not None and isinstance(item.task, Wait):
                self.nothing_is_said(130.0)
            elif item is not None and isinstance(item.task, Ask):
                self.heard(item.task.answers[0], 1.0)
            elif item is not None and gauge_of(self.plane, item) is not None:
                self.heard(say_digits(wanted_band(item).at_least or Decimal(300)), 1.0)

    def step(self, event: ev.Event, now: float | None = None) -> None:
        before = self.session.state
        told = len(self.facts)
        super().step(event, now)
        after = self.session.state
        facts = self.facts[told:]
        self.tallies_stand_to_reason(before, after)
        self.a_list_opens_only_within_its_limits(before, facts)
        self.fuel_stays_on_until_it_is_cool(before, facts)
        self.time_left_never_grows_but_by_raised_power(before, after, facts)
        self.a_fire_is_called_in_its_step(before, event)

    def time_goes_on(self, before: SessionState, after: SessionState, facts: list[Record]) -> None:
        """7, but that raised power moves the end of the cool-down's wait, and only later."""
        item = self.in_hand()
        moved = before.timer is not None and after.timer is not None
        if moved and item is not None and item.id == "wait" and before.item == after.item:
            assert before.timer is not None
            assert after.timer is not None
            assert after.timer.ends >= before.timer.ends
            return
        super().time_goes_on(before, after, facts)

    def tallies_stand_to_reason(self, before: SessionState, after: SessionState) -> None:
        for tally in after.duties.tallies:
            assert tally.turns >= 0.0
            assert tally.seconds >= 0.0
            assert tally.began is None or tally.began <= after.now
        if before.duties.tallies:
            assert [t.counter for t in before.duties.tallies] == [
                t.counter for t in after.duties.tallies
            ]

    def a_list_opens_only_within_its_limits(
        self, before: SessionState, facts: list[Record]
    ) -> None:
        """But for one that was overridden in two utterances, and counts of this very step."""
        opened = [fact.about for fact in facts if fact.fact == "list opened"]
        forced = [fact.about for fact in facts if fact.fact == "overridden"]
        if "start" not in opened or "start" in forced or not before.duties.tallies:
            return
        if any(fact.fact.startswith("count") for fact in facts):
            return
        for counter, tally in zip(self.plane.counters, before.duties.tallies, strict=True):
            if any(path.startswith("start/") for path in counter.counts):
                assert refusal(counter, tally, self.session.state.now) is None

    def fuel_stays_on_until_it_is_cool(self, before: SessionState, facts: list[Record]) -> None:
        for fact in facts:
            if fact.fact == "ticked" and fact.about in ("shut/lever", "down/lever"):
                assert before.duties.cooling.done or before.duties.cooling.over

    def time_left_never_grows_but_by_raised_power(
        self, before: SessionState, after: SessionState, facts: list[Record]
    ) -> None:
        """Invariant 7 for the cool-down; power counts as raised until its gauge is lost."""
        was, now = cooled_at(self.plane, before.duties), cooled_at(self.plane, after.duties)
        if was is None or now is None or was == now:
            return
        again = any(fact.fact.startswith("cool-down") for fact in facts)
        assert now > was
        assert again or after.duties.cooling.outside or before.duties.cooling.outside

    def a_fire_is_called_in_its_step(self, before: SessionState, event: ev.Event) -> None:
        if not isinstance(event, ev.Reading) or before.mode.value in ("closed", "ended"):
            return
        at = replace(before, now=self.session.state.now)
        if shows_fire(self.plane, at, event.gauge, event.value, measured=True):
            after = self.session.state
            assert "residual-fire" in {alert.key for alert in after.alerts}
            assert after.duties.stopping is None or after.duties.stopping.burning


TestInvariantsOnDuty = TalkingOnDuty.TestCase
TestInvariantsOnDuty.settings = settings(
    max_examples=examples(40), stateful_step_count=60, deadline=None
)
