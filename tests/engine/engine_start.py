"""A start by the example's list: a feed in straight lines, and a pilot who speaks."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from pathlib import Path

from engine_rig import in_hand, mode
from engine_talk import Talk

from callout.benches.starts_run import ready, right_answer
from callout.checklist.load import load
from callout.engine.effects import Effect, Priority, Record, Say
from callout.engine.events import Event, Heard, Reading
from callout.engine.rules import State
from callout.engine.session import Session, step
from callout.engine.state import SessionState

EXAMPLE = load(Path(__file__).parents[2] / "checklists" / "reedlark.yaml")
SPEED, HEAT, LIGHT = "gas-generator-speed", "exhaust-temperature", "starter-light"
PACE = 0.1  # s between two lines of the feed


@cache
def at_the_starter() -> SessionState:
    return ready(EXAMPLE)


class Starting(Talk):
    """A session in which the starter is asked for, and everything since then."""

    def __post_init__(self) -> None:
        self.session = Session(self.aircraft)
        self.session.state = at_the_starter()
        self.now = self.zero = at_the_starter().now
        self.events: list[tuple[Event, float]] = []
        self.speed, self.heat, self.light = 0.0, 15.0, 0.0

    def handle(self, event: Event):
        self.events.append((event, self.now))
        return super().handle(event)

    def feed(self, seconds: float, speed: float = -1.0, heat: float = -1.0) -> Starting:
        """The gauges go in a straight line to these values, as a feed shows them."""
        steps = round(seconds / PACE)
        speeds = (speed - self.speed) / steps if speed >= 0.0 else 0.0
        heats = (heat - self.heat) / steps if heat >= 0.0 else 0.0
        for _ in range(steps):
            self.wait(PACE)
            self.speed, self.heat = self.speed + speeds, self.heat + heats
            self.read(SPEED, self.speed).read(HEAT, self.heat).read(LIGHT, self.light)
        return self

    def read(self, gauge: str, value: float) -> Starting:
        self.handle(Reading(gauge, Decimal(f"{value:.1f}"), self.now))
        return self

    def tell(self, text: str) -> Starting:
        """Say it now, without waiting for a prompt to end."""
        self.wait(0.01)
        serial = self.session.state.grammar.serial
        self.handle(Heard(text, 1.0, serial, self.now, self.now, "test"))
        return self

    def lit(self) -> Starting:
        """Starter on, fuel open, flame there: 22 % and 500 degrees, all by the feed."""
        self.light = 1.0
        self.feed(3.0, speed=12.0).feed(3.0, speed=20.0)
        if in_hand(self) == "starter":
            self.tell("engaged")
        self.feed(0.2).tell("opened")
        return self.feed(2.0, speed=22.0, heat=500.0)

    def halfway(self) -> Starting:
        """The same, past half speed, with the starter just let go."""
        self.lit().feed(15.0, speed=51.0, heat=600.0)
        self.light = 0.0
        return self.feed(0.5, speed=52.0).tell("released").feed(0.2).tell("dark")

    def data(self, fact: str) -> list[dict[str, str]]:
        return [dict(one.data) for one in self.facts if one.fact == fact]

    @property
    def faults(self) -> list[str]:
        return [one["fault"] for one in self.data("start fault")]

    @property
    def began(self) -> float:
        """Seconds from the beginning of this to when the starter was on."""
        at = (state for event, state in self._steps() if state.watch and state.watch.phase >= 0)
        return next(at).watch.began - self.zero

    def _steps(self):
        state = at_the_starter()
        for event, now in self.events:
            state, _ = step(self.aircraft, state, event, now)
            yield event, state

    @property
    def list_id(self) -> str:
        run = self.session.state.run
        return run.list_id if run is not None else ""


def starting() -> Starting:
    return Starting(EXAMPLE)


def urgent(effects: tuple[object, ...]) -> list[str]:
    return [e.text for e in effects if isinstance(e, Say) and e.priority is Priority.ABORT]


def hot(one: Starting) -> Starting:
    return one.lit().feed(1.0, heat=560.0).feed(1.0, heat=900.0)


def effects_of(one: Starting, fact: str) -> tuple[Effect, ...]:
    """Everything that was done in the step that gave this fact, by replaying it."""
    state = at_the_starter()
    for event, now in one.events:
        state, effects = step(EXAMPLE, state, event, now)
        if any(isinstance(e, Record) and e.fact == fact for e in effects):
            return effects
    raise AssertionError(f"no fact {fact!r}")


def replayed(one: Starting) -> SessionState:
    state = at_the_starter()
    for event, now in one.events:
        state, _ = step(EXAMPLE, state, event, now)
    return state


def answer_until(one: Talk, path: str) -> Talk:
    """Answer everything right until this item is asked, or ("") until no list is open."""
    for _ in range(200):
        state = one.session.state
        here = f"{state.run.list_id}/{in_hand(one)}" if state.run and state.item is not None else ""
        if here == path:
            return one
        if mode(one) is State.ADVISING:
            one.hear_out()
        else:
            one.say(right_answer(one.session, EXAMPLE))
    raise AssertionError(f"never came to {path!r}")
